/** What a load does over time, under the names of outputs. */

import { groupLoads, isWork, type Load, type Series as ModelSeries, type Part, simulate } from '../model/index.ts'
import { drivenPlate } from '../semantic/coolers/index.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import type { Prediction } from '../semantic/predict.ts'

/** The clock of one group of cores over time: null while it is idle. */
interface GroupSeriesFigures {
  readonly group: string
  readonly clock_mhz: readonly (number | null)[]
}

/** A group's clock over one load, with its active cores. */
interface LoadedGroupSeries extends GroupSeriesFigures {
  readonly cores: number
}

/** The clocks of a part's groups over time, by the output contract; nothing where all cores are alike. */
export function groupSeries({ groups }: ModelSeries): { readonly groups?: readonly GroupSeriesFigures[] } {
  if (groups === undefined) return {}
  return {
    groups: groups.map(({ group, clockMhz }) => ({
      group,
      clock_mhz: clockMhz.map(value => (Number.isNaN(value) ? null : value)),
    })),
  }
}

/** Active cores of each group of a part under a load, in the part's order; undefined where all cores are alike. */
export function groupCounts(part: Part, load: Load): readonly { group: string; cores: number }[] | undefined {
  const loads = isWork(load) ? groupLoads(part, load) : []
  return part.groups?.map(({ name }, index) => ({ group: name, cores: loads[index]?.cores ?? 0 }))
}

/**
 * What a load does over time, under the names of the output contract. Clock and power are means since the value
 * before; temperatures and current are those of the instant. Full doubles, never rounded.
 */
export interface Series {
  readonly profile: string
  readonly load: string
  readonly cores: number
  readonly room: string
  readonly air_c: number
  readonly humidity_pct: number
  readonly t_s: readonly number[]
  readonly clock_mhz: readonly number[]
  readonly power_w: readonly number[]
  readonly die_c: readonly number[]
  readonly plate_c: readonly number[]
  readonly coolant_c: readonly number[]
  /** Null where there is no thermoelectric plate. */
  readonly drive_a: readonly (number | null)[]
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly LoadedGroupSeries[]
  readonly events: readonly { readonly t_s: number; readonly what: string }[]
}

export interface SeriesOptions {
  readonly overS: number
  /** Distance between the values; 1 s where it is not given. */
  readonly everyS?: number
}

/** A load of the profile from steady idle on; undefined for `idle` and `off`, and where idle has no steady state. */
export function seriesOf(evaluation: Evaluation, prediction: Prediction, options: SeriesOptions): Series | undefined {
  const { bench } = evaluation.input
  const { load, corner } = prediction
  if (bench === undefined || !isWork(load.load)) return undefined
  const { overS, everyS } = options
  const run = simulate(bench, load.load, corner, everyS === undefined ? { overS } : { overS, sampleS: everyS })
  if (run === undefined) return undefined
  const { series, events } = run
  const counts = groupCounts(bench.part, load.load)
  const { groups } = groupSeries(series)
  return {
    profile: evaluation.profile.definition.name,
    load: load.name,
    cores: load.load.cores,
    room: evaluation.profile.room?.name ?? '',
    air_c: corner.airC,
    humidity_pct: corner.humidityPct,
    t_s: series.timeS,
    clock_mhz: series.clockMhz,
    power_w: series.powerW,
    die_c: series.dieC,
    plate_c: series.plateC,
    coolant_c: series.coolantC,
    drive_a: drivenPlate(bench.cooler) !== undefined ? series.driveA : series.driveA.map(() => null),
    ...(groups && counts
      ? { groups: counts.map((one, index) => ({ ...one, clock_mhz: groups[index]?.clock_mhz ?? [] })) }
      : {}),
    events: events.map(({ timeS, what }) => ({ t_s: timeS, what })),
  }
}
