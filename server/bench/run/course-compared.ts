/** A run under a course beside its prediction: the whole log, and each of its steps. */

import { firstServing } from '../../model/first-serving.ts'
import type { Bench, CourseNotRun, CourseRun } from '../../model/index.ts'
import { type Figure, type FigureKind, figuresIn, groupOfFigure, kindOfFigure } from '../log/figures.ts'
import type { LogSeries } from '../log/series.ts'
import { asLogged, type LoggedStep, loggedSteps } from './course-log.ts'
import type { RunPrediction } from './prediction.ts'

/** Figures of a course over time: the series of the model, and by what its values are multiplied. */
const series = {
  clock: ['clockMhz', 1e-3],
  power: ['powerW', 1],
  die: ['dieC', 1],
  plate: ['plateC', 1],
  coolant: ['coolantC', 1],
} as const
type OverTime = keyof typeof series
const isOverTime = (figure: FigureKind): figure is OverTime => figure in series

/** Means of a figure over the rows at which there is both. */
interface CourseMeans {
  readonly figure: Figure
  readonly measured: number
  readonly predicted: number
}

export interface CourseLog {
  readonly steps: readonly LoggedStep[]
  /** When the course begins, in s since the log's first row. */
  readonly startS: number
  readonly endS: number
  /** What is predicted, its steps as long as they were logged; `pending` while that is being followed. */
  followed(): CourseRun | CourseNotRun | 'pending'
  /** Over all steps, or over one. Undefined while pending. */
  means(step?: LoggedStep): readonly CourseMeans[] | undefined
}

/** The log of a run under a course, or why its steps cannot be told apart. */
export function courseLogOf(log: LogSeries, predicted: RunPrediction, bench: Bench): CourseLog | string {
  const { ofCourse, corner, evaluation } = predicted
  if (ofCourse === undefined) return 'it was made under one load'
  const settledW = (load: { readonly kind: string }): number | undefined => {
    const found = [...ofCourse.settled].find(([one]) => one === load || (one.kind !== 'work' && one.kind === load.kind))
    return found?.[1].settled.powerW ?? undefined
  }
  const steps = loggedSteps(log, ofCourse.course, settledW)
  if (typeof steps === 'string') return steps
  const [first, last] = [steps[0], steps.at(-1)]
  if (first === undefined || last === undefined) return 'no step of the course is found in its log'
  const course = asLogged(ofCourse.course, steps, log)
  // It began between two rows.
  const [before, begun] = [log.toS[first.from - 1], log.fromS[first.from] as number]
  const startS = before === undefined ? begun : (before + begun) / 2
  const followed = () => evaluation.overTime.course(bench, course, corner)
  const known = new Map<LoggedStep | undefined, readonly CourseMeans[]>()
  return {
    steps,
    startS,
    endS: log.toS[last.to - 1] as number,
    followed,
    means: step => {
      const before = known.get(step)
      if (before !== undefined) return before
      const run = followed()
      if (run === 'pending') return undefined
      const found = 'undecided' in run ? [] : meansOf(log, run, step === undefined ? steps : [step], startS)
      known.set(step, found)
      return found
    },
  }
}

/** The value of a series at a time, straight between two of its values; NaN where there is none. */
function valueAt(timeS: readonly number[], values: readonly number[], at: number): number {
  const last = timeS.length - 1
  if (last < 1 || at < (timeS[0] as number) || at > (timeS[last] as number)) return Number.NaN
  const high = firstServing(0, last, index => (timeS[index] as number) > at)
  const low = high - 1
  const [from, to] = [timeS[low] as number, timeS[high] as number]
  const [a, b] = [values[low] as number, values[high] as number]
  return a + ((b - a) * (at - from)) / (to - from || 1)
}

/** A figure of a course over time, and by what its values are multiplied; undefined where it is not followed. */
function followedOf(
  { series: all }: CourseRun,
  figure: Figure,
): { readonly values: readonly number[]; readonly factor: number } | undefined {
  const [kind, group] = [kindOfFigure(figure), groupOfFigure(figure)]
  if (!isOverTime(kind)) return undefined
  const [name, factor] = series[kind]
  if (group === undefined) return { values: all[name], factor }
  const own = kind === 'clock' ? all.groups?.find(one => one.group === group) : undefined
  return own && { values: own.clockMhz, factor }
}

function meansOf(log: LogSeries, run: CourseRun, steps: readonly LoggedStep[], startS: number): readonly CourseMeans[] {
  return figuresIn(Object.keys(log.figures)).flatMap((figure): CourseMeans[] => {
    const read = log.figures[figure]
    const followed = followedOf(run, figure)
    if (read === undefined || followed === undefined) return []
    const { values, factor } = followed
    let [measured, predicted, count] = [0, 0, 0]
    for (const { from, to } of steps) {
      for (let at = from; at < to; at++) {
        const value = factor * valueAt(run.series.timeS, values, (log.timeS[at] as number) - startS)
        if (Number.isNaN(value) || Number.isNaN(read[at] as number)) continue
        measured += read[at] as number
        predicted += value
        count++
      }
    }
    return count === 0 ? [] : [{ figure, measured: measured / count, predicted: predicted / count }]
  })
}
