/** A run's measured figures, once its log is read. */

import type { Readings } from '../log/figures.ts'
import type { LogResult } from '../log/reader.ts'
import { findSteady, longest, type SteadyOptions, type SteadyWindow, type Unsteady } from '../steady/stretches.ts'
import type { OddFigure } from './plausible.ts'
import type { RunRecord } from './record.ts'

/** What a run came to once its log is read: the figures that it is compared with, and how they were obtained. */
export interface MeasuredRun {
  readonly record: RunRecord
  /** Undefined where the run names no log, or it is not read yet. */
  readonly log: LogResult | undefined
  /** The steady stretches of the log. */
  readonly windows: readonly SteadyWindow[]
  /** The longest of them, of those about as long the last: its means count. */
  readonly window: SteadyWindow | undefined
  readonly unsteady: Unsteady | undefined
  /** Length that a steady stretch had to have, in s. */
  readonly windowS: number | undefined
  /** How slow the bench was taken to be when they were looked for. */
  readonly timeConstantS: number
  /** Figures read off by hand, and means of the window for those that were not. */
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
 * The figures of a run.
 * @param odd figures that cannot be; they are left out, where they come from
 * @param log undefined where the run names none or it is not read yet: then only what was read off by hand counts
 */
export function measuredRun(
  record: RunRecord,
  log: LogResult | undefined,
  options: SteadyOptions,
  odd: readonly OddFigure[],
): MeasuredRun {
  // Of times that cannot be there is no stretch.
  const isTimed = !odd.some(({ kind, problem }) => kind === 'time' && problem === 'impossible')
  const series = log?.state === 'read' && isTimed ? log.series : undefined
  const steady = series && findSteady({ ...series, figures: plausible(series.figures, odd, 'log') }, options)
  const window = longest(steady?.windows ?? [])
  return {
    record,
    log,
    windows: steady?.windows ?? [],
    window,
    unsteady: steady?.unsteady,
    windowS: steady?.windowS,
    timeConstantS: options.timeConstantS,
    figures: { ...window?.figures, ...plausible(record.measured, odd, 'hand') },
  }
}
