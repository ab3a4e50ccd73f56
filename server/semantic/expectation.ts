/** An `expect` line of a profile and what it comes to, as a type of its own: loads and courses are judged apart. */

import type { Quantity } from '../../grammar/values.ts'
import type { Corner, Transient } from '../model/index.ts'
import type { CourseAt, ResolvedCourse } from './courses.ts'
import type { Prediction } from './predict.ts'
import type { Sourced } from './profile.ts'
import type { VoltageDoubt } from './voltage-doubt.ts'

/** Where and when a course decides an expectation. */
interface CourseWorst {
  readonly corner: Corner
  readonly timeS: number
  /** When the machine stopped there; null where it does not. */
  readonly tripS: number | null
  readonly resolved: ResolvedCourse
  readonly at: CourseAt
}

/** What an `expect` line is about. */
export type ExpectedFigure =
  | 'clock'
  | 'above-dew'
  | 'die'
  | 'plate'
  | 'coolant'
  | 'power'
  | 'margin'
  | 'drive-power'
  | 'voltage'
  | 'current'
  | 'stable'
  | 'trips'

/** What a profile's `expect` lines come to. */
export interface Expectation {
  readonly sourced: Sourced
  /** The line without `expect`, in the one spelling. */
  readonly text: string
  /** Empty where it is about a course. */
  readonly load: string
  /** The course that it is about; absent for a load. */
  readonly course?: string
  readonly figure: ExpectedFigure
  /** `>=`: at least; `<=`: at most. */
  readonly compare: '>=' | '<='
  /** The figure asked for, as it stands in the line. */
  readonly target: Quantity
  /** The group of cores that it is about; undefined: the first that has active cores. */
  readonly group: string | undefined
  /** How long it is to hold, in s; undefined for the steady state. */
  readonly forS: number | undefined
  /** The figure that decides, in `unit`; null where there is none. */
  readonly predicted: number | null
  /** The unit that the line is written in. */
  readonly unit: string
  /** Null where it cannot be decided. */
  readonly holds: boolean | null
  /** The prediction that decides: the worst core count and corner for this expectation. */
  readonly worst: Prediction | undefined
  /** Why it is undecided, in words for the message. */
  readonly undecided?: string
  /** What is doubtful where the figure would do, but the load would not run at the voltage it is given. */
  readonly doubt?: VoltageDoubt
  /** The drive holds the plate at exactly what is asked: nothing is left over, and a sensor's error decides. */
  readonly exact?: true
  /** The die would reach this temperature, at which the machine stops, in °C: then no clock is held. */
  readonly stopsAtC?: number
  /** It rests on a run over time that is not made yet. */
  readonly pending?: true
  /** Where it is to hold for a time and does not: how long it lasts, in s. */
  readonly lastsS?: number
  /** The run that decides one that is to hold for a time. */
  readonly transient?: Transient
  /** Where and when a course decides; then there is no `worst`. */
  readonly courseWorst?: CourseWorst
}

export type Asked = Pick<
  Expectation,
  'sourced' | 'text' | 'load' | 'course' | 'figure' | 'compare' | 'target' | 'group' | 'forS' | 'unit'
>
