/** A run's log as it goes into a fit, with what is known of its sitting and what stands for figures that were not logged. */

import { isWork, type WorkLoad } from '../../model/index.ts'
import type { Bench, Load, Settled } from '../../model/types.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { courseBlocks, logBlocks, type Under } from '../likelihood/blocks.ts'
import type { LogPoint } from '../likelihood/log-point.ts'
import type { Work } from '../likelihood/work.ts'
import type { Reading } from '../log/figures.ts'
import type { LogSeries } from '../log/series.ts'
import type { LoggedStep } from './course-log.ts'
import { type Expected, groupWorkOf } from './group-work.ts'
import type { RunPrediction } from './prediction.ts'
import { setVoltagesOf } from './set-voltage.ts'

/** How near a plate is kept to what is asked of it; engineering judgement. */
const HELD_PLATE_K = 0.7
/** An air that nobody measured better; engineering judgement. */
const AIR_K = 1
/** The error that a logger's sensors may have: K, V and shares; engineering judgement. */
const offsets: LogPoint['offsets'] = {
  die: 1,
  plate: 0.5,
  coolant: 0.5,
  voltage: 0.005,
  powerShare: 0.02,
  driveShare: 0.02,
}

/** What the cores do; undefined for a machine at rest. */
export function workOf(load: Load, groups?: (load: WorkLoad) => Work['groups']): Work | undefined {
  if (!isWork(load)) return undefined
  const own = groups?.(load)
  const work = { cores: load.cores, activity: load.activity, uneven: load.uneven ?? 1 }
  return own === undefined ? work : { ...work, groups: own }
}

/** What the groups of a part do in a log, and what is predicted for what it does not have. */
const groupsIn =
  ({ figures }: LogSeries, { part }: Bench, expected: Expected | undefined) =>
  (load: WorkLoad): Work['groups'] =>
    groupWorkOf(part, load, figure => figures[figure] !== undefined, expected)

/** What stands for what a log does not have. */
export const expectedOf = (evaluation: Evaluation, bench: Bench, settled: Settled): Expected => ({
  settled,
  sets: setVoltagesOf(evaluation, bench, settled),
})

/** What stands for figures that were not measured: as they are predicted, and a voltage as it is set. */
export function insteadOf({ settled, sets: [set] }: Expected): LogPoint['instead'] {
  const { clockMhz, voltageV, powerW, driveA, plateC, notes } = settled
  const targetC = notes.plate?.targetC ?? null
  const isHeld = targetC !== null && notes.plate?.isTargetMissed === false && plateC !== null
  return {
    ...(clockMhz === null ? {} : { clockGhz: clockMhz / 1000 }),
    ...(voltageV === null || set === undefined ? {} : { voltage: set }),
    ...(powerW === null ? {} : { powerW }),
    // Under a target the current changes with the heat; the plate is as cold as was asked for where that can be met.
    ...(driveA === null || targetC !== null ? {} : { driveA }),
    ...(isHeld ? { plate: { value: plateC, standardUncertainty: HELD_PLATE_K } } : {}),
  }
}

/** The air of a run. @param isStated the run says how well it is known */
export function airOf({ corner, airUncertaintyK }: RunPrediction, isStated: boolean): Reading {
  return { value: corner.airC, standardUncertainty: isStated ? airUncertaintyK : Math.max(AIR_K, airUncertaintyK) }
}

/** @param series without figures that cannot be */
export function logPointOf(series: LogSeries, predicted: RunPrediction, bench: Bench, isAirStated: boolean): LogPoint {
  const expected = expectedOf(predicted.evaluation, bench, predicted.settled)
  const work = workOf(predicted.load.load, groupsIn(series, bench, expected))
  return {
    blocks: logBlocks(series, work === undefined ? 'idle' : 'work'),
    work,
    air: airOf(predicted, isAirStated),
    fan: bench.profile.fan,
    offsets,
    instead: insteadOf(expected),
  }
}

/**
 * The log of a run under a course, each block under the load that was at work. What comes from a fault on does not count,
 * since the cooler is another one there; nor does a machine that is off, whose sensors say nothing.
 */
export function coursePointOf(
  series: LogSeries,
  steps: readonly LoggedStep[],
  predicted: RunPrediction,
  bench: Bench,
  isAirStated: boolean,
): LogPoint {
  const { ofCourse } = predicted
  const fault = ofCourse?.course.lines.findIndex(({ kind }) => kind === 'fault') ?? -1
  const unders = new Map<Load, Under>()
  const underOf = (load: Load): Under => {
    const found = ofCourse?.settled.get(load)
    const own = found && expectedOf(predicted.evaluation, bench, found.settled)
    const instead: LogPoint['instead'] = own === undefined ? {} : insteadOf(own)
    const { clockGhz, voltage, powerW } = instead
    const made: Under = {
      work: workOf(load, groupsIn(series, bench, own)),
      ...(clockGhz !== undefined && { clockGhz }),
      ...(voltage !== undefined && { voltage }),
      ...(powerW !== undefined && { powerW }),
    }
    const known = unders.get(load) ?? made
    unders.set(load, known)
    return known
  }
  const counted = steps.filter(({ line, load }) => load.kind !== 'off' && (fault < 0 || line < fault))
  // A plate that is still getting cold is not what it is held at.
  const expected = expectedOf(predicted.evaluation, bench, predicted.settled)
  const { plate: _, ...instead } = insteadOf(expected)
  return {
    blocks: courseBlocks(
      series,
      counted.map(({ from, to, load }) => ({ from, to, under: underOf(load) })),
    ),
    work: workOf(predicted.load.load, groupsIn(series, bench, expected)),
    air: airOf(predicted, isAirStated),
    fan: bench.profile.fan,
    offsets,
    instead,
  }
}
