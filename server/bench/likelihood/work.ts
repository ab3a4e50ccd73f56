/** What cores did, and what the power law says of it. */

import type { GroupLoad } from '../../model/types.ts'
import type { GroupFigure } from '../log/figures.ts'

/** The voltage of one kind of cores as its profile sets it, for where the die's was not read. */
export interface SetVoltage {
  /** In V at a clock in GHz; a clock between two steps has the voltages of both, each for its share of the time. */
  readonly at: (clockGhz: number) => number
  /** The clock in GHz that a voltage in V is set for; absent where several clocks have the same one. */
  readonly clockOf?: (voltageV: number) => number
  readonly loadLineOhm: number
  /** Of the voltage at the die, in V: one error of all readings of a log. */
  readonly standardUncertainty: number
}

/** What one group of cores did, and which readings are its own. */
export interface GroupWork extends GroupLoad {
  readonly clock: 'clock' | GroupFigure
  readonly voltage: 'voltage' | GroupFigure
  /** What stands for them where they were not logged, in GHz and V. */
  readonly insteadGhz?: number
  readonly insteadV?: number
  /** What the profile sets for it. */
  readonly set?: SetVoltage
}

/** What the cores do; undefined for a machine at rest, which has no dynamic power. */
export interface Work {
  readonly cores: number
  readonly activity: number
  readonly uneven: number
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly GroupWork[]
}

/** The power law at a voltage, a clock and a die temperature. */
export interface LawPower {
  dynamicW: number
  leakageW: number
  powerW: number
  /** Through all supply rails together. */
  currentA: number
  /** By how many kelvin a watt of dynamic power lifts the hottest core over the die. */
  riseKPerW: number
}

export const emptyLaw = (): LawPower => ({ dynamicW: 0, leakageW: 0, powerW: 0, currentA: 0, riseKPerW: 0 })
