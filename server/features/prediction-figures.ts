/**
 * Predictions as others may rely on them: the keys of the output contract, units in their names. Numbers are full
 * doubles, never rounded; figures that do not exist are null; every key is always there.
 */

import { coresOf, type SettledGroup } from '../model/index.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import type { Prediction } from '../semantic/predict.ts'
import { type IntervalFigures, intervalsOf } from './intervals.ts'

/** What `±` makes of the figures; both keys are absent where no constant carries any. */
interface IntervalKeys {
  readonly interval: IntervalFigures
  readonly interval_by: 'first-order' | 'draws'
}

/** One group of cores; voltages and current are those of its supply rail. */
interface GroupFigures {
  readonly group: string
  readonly cores: number
  readonly ratio: number | null
  readonly ratio_low: number | null
  readonly ratio_high: number | null
  readonly clock_mhz: number | null
  readonly set_v: number | null
  readonly voltage_v: number | null
  readonly need_v: number | null
  readonly dynamic_w: number | null
  readonly leakage_w: number | null
  readonly current_a: number | null
  /** The hottest core of the group; `die_c` is that of all. */
  readonly core_c: number | null
}

/** One load at one core count in one corner of the room. */
export interface PredictionFigures extends Partial<IntervalKeys> {
  readonly profile: string
  readonly load: string
  /** Active cores; 0 for `idle` and `off`. */
  readonly cores: number
  readonly room: string
  readonly air_c: number
  readonly humidity_pct: number
  readonly state: string
  readonly limiter: string
  readonly ratio: number | null
  readonly ratio_low: number | null
  readonly ratio_high: number | null
  readonly share_high: number | null
  readonly clock_mhz: number | null
  readonly set_v: number | null
  readonly voltage_v: number | null
  readonly need_v: number | null
  readonly power_w: number | null
  readonly dynamic_w: number | null
  readonly leakage_w: number | null
  readonly current_a: number | null
  readonly die_c: number | null
  readonly plate_c: number | null
  readonly coolant_c: number | null
  readonly fan_pct: number | null
  readonly drive_a: number | null
  readonly drive_w: number | null
  readonly wet_c: number
  readonly margin_w: number | null
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly GroupFigures[]
  /** The defaults that took a missing value's place, in the language's own spelling. */
  readonly assumed: readonly string[]
}

function groupFigures(settled: SettledGroup): GroupFigures {
  return {
    group: settled.group,
    cores: settled.cores,
    ratio: settled.ratio,
    ratio_low: settled.ratioLow,
    ratio_high: settled.ratioHigh,
    clock_mhz: settled.clockMhz,
    set_v: settled.setV,
    voltage_v: settled.voltageV,
    need_v: settled.needV,
    dynamic_w: settled.dynamicW,
    leakage_w: settled.leakageW,
    current_a: settled.currentA,
    core_c: settled.coreC,
  }
}

/** One prediction of a profile under the names of the output contract. */
export function figuresOf({ profile }: Evaluation, prediction: Prediction): PredictionFigures {
  const { load, corner, settled, assumed } = prediction
  return {
    profile: profile.definition.name,
    load: load.name,
    cores: coresOf(load.load),
    room: profile.room?.name ?? '',
    air_c: corner.airC,
    humidity_pct: corner.humidityPct,
    state: settled.state,
    limiter: settled.limiter,
    ratio: settled.ratio,
    ratio_low: settled.ratioLow,
    ratio_high: settled.ratioHigh,
    share_high: settled.shareHigh,
    clock_mhz: settled.clockMhz,
    set_v: settled.setV,
    voltage_v: settled.voltageV,
    need_v: settled.needV,
    power_w: settled.powerW,
    dynamic_w: settled.dynamicW,
    leakage_w: settled.leakageW,
    current_a: settled.currentA,
    die_c: settled.dieC,
    plate_c: settled.plateC,
    coolant_c: settled.coolantC,
    fan_pct: settled.fanPct,
    drive_a: settled.driveA,
    drive_w: settled.driveW,
    wet_c: settled.wetC,
    margin_w: settled.marginW,
    ...(settled.groups === undefined ? {} : { groups: settled.groups.map(groupFigures) }),
    assumed,
  }
}

/** All predictions of a profile, sorted by load, cores and corner. */
export function allFiguresOf(evaluation: Evaluation): readonly PredictionFigures[] {
  return evaluation.predictions.map(prediction => figuresOf(evaluation, prediction))
}

/** The same with their intervals: up to a second for each where draws decide. */
export function allWithIntervals(evaluation: Evaluation): readonly PredictionFigures[] {
  return evaluation.predictions.map(prediction => {
    const figures = figuresOf(evaluation, prediction)
    const found = intervalsOf(evaluation, prediction)
    if (found === undefined) return figures
    return { ...figures, interval: found.interval, interval_by: found.drawnFor === undefined ? 'first-order' : 'draws' }
  })
}
