/** A run's measured figures, once its log is read. */

import { onceFor } from '../../../grammar/once.ts'
import { finished } from '../../model/index.ts'
import { logBlocksInSlices } from '../likelihood/blocks.ts'
import { figuresIn, type Reading, type Readings } from '../log/figures.ts'
import type { LogResult } from '../log/reader.ts'
import type { LogSeries } from '../log/series.ts'
import type { Slices } from '../statistics/independent.ts'
import { type LoggedOn, type SettledLog, settledLogInSlices } from '../steady/settled-log.ts'
import { logPointOf } from './log-point.ts'
import type { OddFigure } from './plausible.ts'
import type { RunPrediction } from './prediction.ts'
import type { RunRecord } from './record.ts'

/** What a run came to once its log is read: the figures that it is compared with, and how they were obtained. */
export interface MeasuredRun {
  readonly record: RunRecord
  /** Undefined where the run names no log, or it is not read yet. */
  readonly log: LogResult | undefined
  /** The log without figures that cannot be; undefined where there is none, or its times cannot be. */
  readonly series: LogSeries | undefined
  /** What the log settles at; undefined where it says nothing of that. Found when it is first asked for. */
  readonly settled: SettledLog | undefined
  /** Finds what the log settles at, a few looks at it at a time. */
  settleInSlices(): Slices<void>
  /** Figures read off by hand, and what the log settles at for those that were not. */
  readonly figures: Readings
}

/** Figures from one place without those of it that cannot be. */
function plausible<T extends object>(figures: T, odd: readonly OddFigure[], from: OddFigure['from']): T {
  const left = new Set<string>(odd.flatMap(one => (one.from === from && one.problem !== 'still' ? [one.kind] : [])))
  return left.size === 0
    ? figures
    : (Object.fromEntries(Object.entries(figures).filter(([kind]) => !left.has(kind))) as T)
}

/**
 * The log of a run as it may be used; the same object as long as the log and what is odd about it are the same.
 * @param odd figures that cannot be
 */
export function seriesOf(log: LogResult | undefined, odd: readonly OddFigure[]): LogSeries | undefined {
  // Times that cannot be say nothing.
  const isTimed = !odd.some(({ kind, problem }) => kind === 'time' && problem === 'impossible')
  if (log?.state !== 'read' || !isTimed || log.series.timeS.length === 0) return undefined
  const figures = plausible(log.series.figures, odd, 'log')
  return figures === log.series.figures ? log.series : { ...log.series, figures }
}

/** The duty of the fan over a log; undefined where it was not logged. */
export function loggedDuty(series: LogSeries | undefined): Reading | undefined {
  return series?.figures.fan && dutyOf(series.figures.fan)
}

const dutyOf = onceFor((fan: Float64Array): Reading | undefined => {
  const values = fan.filter(value => !Number.isNaN(value))
  if (values.length === 0) return undefined
  const sorted = values.sort()
  return { value: sorted[sorted.length >> 1] as number, standardUncertainty: 0 }
})

function loggedOn(series: LogSeries, predicted: RunPrediction | undefined, isAirStated: boolean): LoggedOn | undefined {
  const { bench } = predicted?.evaluation.input ?? {}
  const { part, cooler } = predicted?.evaluation.profile ?? {}
  if (predicted === undefined || bench === undefined || part === undefined || cooler === undefined) return undefined
  if (predicted.load.load.kind === 'off') return undefined
  return { point: logPointOf(series, predicted, bench, isAirStated), bench, part, cooler }
}

/**
 * The figures of a run.
 * @param odd figures that cannot be; they are left out, where they come from
 * @param log undefined where the run names none or it is not read yet: then only what was read off by hand counts
 */
export function measuredRun(
  record: RunRecord,
  log: LogResult | undefined,
  predicted: RunPrediction | undefined,
  odd: readonly OddFigure[],
): MeasuredRun {
  const series = seriesOf(log, odd)
  const load = record.load === 'idle' || record.load === 'off' ? 'idle' : 'work'
  const byHand = plausible(record.measured, odd, 'hand')
  // The log has nothing to add where all its figures were read off by hand.
  // A course does not settle: it is compared as a whole.
  const isAsked =
    record.course === undefined &&
    series !== undefined &&
    figuresIn(Object.keys(series.figures)).some(figure => byHand[figure] === undefined)
  let settled: SettledLog | undefined | 'unknown' = 'unknown'
  const settle = (): SettledLog | undefined => finished(settleInSlices())
  const settleInSlices = function* (): Slices<SettledLog | undefined> {
    if (settled !== 'unknown') return settled
    if (isAsked) yield* logBlocksInSlices(series, load)
    const found = isAsked
      ? yield* settledLogInSlices(series, load, loggedOn(series, predicted, record.stated.has('air')))
      : undefined
    settled = found
    return found
  }
  let figures: Readings | undefined
  return {
    record,
    log,
    series,
    settleInSlices: function* () {
      yield* settleInSlices()
    },
    get settled() {
      return settle()
    },
    get figures() {
      figures ??= { ...settle()?.figures, ...byHand }
      return figures
    },
  }
}
