/** What a die is to the network that cools it: what it draws at held ratios as its temperature moves. */

import { dynamicWPerV2, type PowerPoint } from '../power.ts'
import type { BusyGroup, PreparedLoad } from '../prepare.ts'

/** Voltage and current of a supply rail. */
export interface Supply {
  readonly voltageV: number
  readonly currentA: number
}

/** Voltage and current are those of the first group that has active cores. */
export interface DiePoint extends PowerPoint {
  /** What lifts the hottest core: `coreKPerW` times this is its rise over die and lid. */
  readonly hotW: number
}

/** By how much a kelvin more of die and lid raises the power and the hottest core. */
interface DieSlopes {
  readonly powerSlope: number
  readonly hottestSlope: number
}

/** The die of a load, its ratios held from look to look (model sections 2 to 4 and 10). */
export interface Die {
  readonly coreKPerW: number
  /** Holds a ratio for each group that has active cores, and a set voltage for each supply rail. */
  hold(ratios: readonly number[], railSetV: ArrayLike<number>): void
  /** What it draws while die and lid are at this temperature; the same object each time. */
  powerAt(dieAndLidC: number): DiePoint
  /** At the point of the last `powerAt`; the same object each time. */
  slopes(): DieSlopes
  /** The supply of a group at the point of the last `powerAt`. @param at its place among those that have active cores */
  supplyOf(at: number): Supply
}

/**
 * Dynamic power of each supply rail in W/V², and that of its group whose cores rise most, as the power that would lift
 * them as much at the load's `coreKPerW`.
 */
export function drawnByRail(
  { groups }: PreparedLoad,
  ratios: readonly number[],
  dynamic: Float64Array,
  hot: Float64Array,
): void {
  for (let rail = 0; rail < dynamic.length; rail++) dynamic[rail] = hot[rail] = 0
  for (let at = 0; at < groups.length; at++) {
    const { prepared, cores, activity, riseShare } = groups[at] as BusyGroup
    const { part, rail } = prepared
    const own = dynamicWPerV2(part, cores, activity, ratios[at] as number)
    dynamic[rail] = (dynamic[rail] as number) + own
    hot[rail] = Math.max(hot[rail] as number, own * riseShare)
  }
}
