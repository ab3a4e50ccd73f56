/** A whole evening on the bench, as the model takes it and as it gives it back. */

import type { ShareWord } from '../cooler/faults.ts'
import type { Load } from '../types.ts'
import type { Series } from './record.ts'

/** A temperature that a step waits for. */
type WaitedFigure = 'die' | 'plate' | 'coolant'

/** How a step ends. */
export type StepUntil =
  | { readonly kind: 'time'; readonly forS: number }
  | {
      readonly kind: 'temperature'
      readonly figure: WaitedFigure
      readonly compare: '<=' | '>='
      readonly temperatureC: number
      /** It is waited for no longer than this. */
      readonly withinS: number
    }

export interface StepLine {
  readonly kind: 'step'
  readonly load: Load
  readonly until: StepUntil
}

/** From its place in the course on. `pct` is what is left, in percent; of the radiator's resistance what it is times. */
export type FaultLine =
  | { readonly kind: 'fault'; readonly word: ShareWord; readonly pct: number }
  | { readonly kind: 'fault'; readonly word: 'drive'; readonly isOn: boolean }

export type CourseStart =
  /** All at the temperature of the air, the machine and the drive on from t = 0. */
  | { readonly kind: 'room' }
  /** What a load settles at; idle where nothing is said. */
  | { readonly kind: 'settled'; readonly load: Load }

export interface Course {
  readonly start: CourseStart
  /** In their order. */
  readonly lines: readonly (StepLine | FaultLine)[]
}

/** A figure on one side of a value, in the units of the figures. */
export interface CourseEnd {
  readonly figure: CourseFigure
  /** `low`: it falls below the value; `high`: it rises above it. */
  readonly side: 'low' | 'high'
  readonly value: number
}

export interface CourseOptions {
  /** The course is left where this comes about: what follows is not asked for. */
  readonly endsAt?: CourseEnd
  /** How often the controller looks; 10 ms unless said otherwise. */
  readonly tickS?: number
  /** Distance of the samples of the series; 1 s unless said otherwise. */
  readonly sampleS?: number
  /** Called now and then with the time of the course that has been followed, in s. */
  readonly passed?: (timeS: number) => void
}

/** A value and when it was. */
export interface Extreme {
  readonly value: number
  readonly timeS: number
}

/** Figures of a course whose lowest and highest values are kept. */
export const courseFigures = ['die', 'plate', 'coolant', 'power', 'voltage', 'current', 'drive-power', 'clock'] as const
export type CourseFigure = (typeof courseFigures)[number]

/** Lowest and highest of each figure; absent where the figure never was. `clock` is over every full second within a step. */
export type Extremes = ReadonlyMap<CourseFigure, { readonly low: Extreme; readonly high: Extreme }>

/** `clock`, `voltage` and `current` of one of several groups of cores, those of the whole being the first group's at work. */
export interface GroupExtremes {
  readonly group: string
  readonly extremes: Extremes
}

/** `time`: it had its time; `reached`: what it waited for came; `waited`: it did not come; `trip`: the machine stopped. */
export type StepEnded = 'time' | 'reached' | 'waited' | 'trip'

export interface CourseStep {
  /** Which of the course's lines. */
  readonly line: number
  readonly load: Load
  readonly startS: number
  readonly endS: number
  readonly ended: StepEnded
  readonly extremes: Extremes
  /** The groups that it keeps busy, in the part's order; absent where all cores are alike. */
  readonly groups?: readonly GroupExtremes[]
  /** At its end. */
  readonly endDieC: number
  readonly endPlateC: number
  readonly endCoolantC: number
}

export interface CourseEvent {
  readonly timeS: number
  /** Which of the course's lines was at work. */
  readonly line: number
  readonly kind: 'band' | 'die-limit' | 'sustained-power' | 'trip' | 'fault' | 'waited'
  readonly what: string
}

export interface CourseRun {
  readonly endS: number
  /** When the machine stopped; null where it never did. */
  readonly tripS: number | null
  /** When the last fault before that, or before the end, began; null without one. */
  readonly faultS: number | null
  /** The steps that were begun. */
  readonly steps: readonly CourseStep[]
  readonly events: readonly CourseEvent[]
  readonly extremes: Extremes
  /** The groups that were ever at work; absent where all cores are alike. */
  readonly groups?: readonly GroupExtremes[]
  readonly series: Series
}

/** A course that cannot be followed, and why. */
export interface CourseNotRun {
  /**
   * `start`: what it starts from is over its limit or has no balance; `steps`: no row of `steps` covers the cores of the
   * load, of each group that it keeps busy.
   */
  readonly undecided: 'start' | 'steps'
  /** The load that it fails at. */
  readonly load: Load
}
