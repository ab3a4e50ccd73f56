/** What `±` on the bench's constants, and usual values in place of them, make of a prediction: 95 % intervals, for outputs and for people. */

import { DRAWS, type DrawnFor, type FigureOf, finished, type Interval } from '../model/index.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import type { Prediction } from '../semantic/predict.ts'
import { settlingConstants } from '../semantic/shifts.ts'
import { uncertaintyInSlices } from '../semantic/uncertainty.ts'

/** Both ends of a 95 % interval; an end is null where it lies among draws without a balance. */
export type Range = readonly [low: number | null, high: number | null]

/** Null where the figure does not exist, as the clock of idle. */
export interface IntervalFigures {
  readonly clock_mhz: Range | null
  readonly power_w: Range | null
  readonly die_c: Range | null
  readonly plate_c: Range | null
  readonly margin_w: Range | null
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly GroupIntervals[]
}

interface GroupIntervals {
  readonly group: string
  readonly clock_mhz: Range | null
  readonly voltage_v: Range | null
  readonly current_a: Range | null
  readonly core_c: Range | null
}

interface PredictionIntervals {
  readonly interval: IntervalFigures
  /** Undefined where first order describes the figures. */
  readonly drawnFor: DrawnFor | undefined
}

/** The intervals of one prediction, a few milliseconds at a time; undefined where no constant carries `±`. */
export function* intervalsInSlices(
  { input }: Evaluation,
  prediction: Prediction,
): Generator<undefined, PredictionIntervals | undefined> {
  const carried = yield* uncertaintyInSlices(input, prediction, true)
  if (carried === undefined) return undefined
  const range = (figure: FigureOf, unbalanced: 'above' | 'below'): Range | null =>
    rangeOf(carried.interval(figure, unbalanced))
  return {
    interval: {
      clock_mhz: range(one => one.clockMhz, 'below'),
      power_w: range(one => one.powerW, 'above'),
      die_c: range(one => one.dieC, 'above'),
      plate_c: range(one => one.plateC, 'above'),
      margin_w: range(one => one.marginW, 'below'),
      ...groupIntervals(prediction, range),
    },
    drawnFor: carried.drawnFor,
  }
}

/** The intervals of each group; a figure that it has not, as the clock of an idle one, is null. */
function groupIntervals(
  { settled: { groups } }: Prediction,
  range: (figure: FigureOf, unbalanced: 'above' | 'below') => Range | null,
): Pick<IntervalFigures, 'groups'> {
  if (groups === undefined) return {}
  return {
    groups: groups.map(({ group, cores }, index) => ({
      group,
      clock_mhz: cores === 0 ? null : range(one => one.groups?.[index]?.clockMhz ?? null, 'below'),
      voltage_v: range(one => one.groups?.[index]?.voltageV ?? null, 'above'),
      current_a: range(one => one.groups?.[index]?.currentA ?? null, 'above'),
      core_c: cores === 0 ? null : range(one => one.groups?.[index]?.coreC ?? null, 'above'),
    })),
  }
}

const rangeOf = ({ low, high }: Interval): Range | null => (low === null && high === null ? null : [low, high])

/** The same at once. */
export function intervalsOf(evaluation: Evaluation, prediction: Prediction): PredictionIntervals | undefined {
  return finished(intervalsInSlices(evaluation, prediction))
}

/** Whether usual values take the place of constants that bear on what loads settle at. */
export function restsOnUsual({ input }: Evaluation): boolean {
  return settlingConstants(input, '').some(({ spread }) => spread !== undefined)
}

/** What the intervals of a profile, or of one of its loads, come from. */
export function intervalSource({ input }: Evaluation, load = ''): string {
  const constants = settlingConstants(input, load)
  const usual = constants.some(({ spread }) => spread !== undefined)
  const stated = constants.some(({ spread }) => spread === undefined)
  return usual ? (stated ? 'the stated ± and usual values' : 'usual values') : 'the stated ±'
}

const reasons: Readonly<Record<DrawnFor, string>> = {
  'no-balance': 'some have no balance',
  level: 'a level of the ladder changes within three standard uncertainties',
  bend: 'the figures bend within two standard uncertainties',
}

/** `2000 seeded draws` */
export const drawsText = `${DRAWS} seeded draws`

/** Whether straight lines or draws decide the intervals, and why. */
export function decidedBy({ drawnFor }: Pick<PredictionIntervals, 'drawnFor'>): string {
  if (drawnFor === undefined) return 'first order'
  return `${drawsText} decide: ${reasons[drawnFor]}`
}
