/** One load on one state of the bench, and what goes on from it to the next. */

import type { DriveRule } from '../cooler/kind.ts'
import type { Controller } from './control.ts'
import type { Network } from './network.ts'

/** What goes on from one load to the next. */
export interface Machine {
  /** The states of the network; one more once the hot side stores heat. */
  y: Float64Array
  /** The running mean power E. */
  meanW: number
  /** Current through the modules; not a number where it is yet what its rule says. */
  currentA: number
  /** The hottest core as the last tick has left it. */
  hottestC: number
}

/** One load on one state of the bench. */
export interface Stretch {
  readonly network: Network
  readonly controller: Controller
  readonly drive: DriveRule
  /** How slowly the current follows its rule, in s; 0 where at once. */
  readonly lagS: number
  readonly packageKPerW: number
  readonly tripC: number
  /** The hottest core's ceiling, whose passing is noted. */
  readonly ceilingC: number
  readonly tickS: number
  /** Share of the way that the running mean goes to a tick's own mean power. */
  readonly forget: number
  /** At most so many ticks. */
  readonly ticks: number
  /** Set voltage of each supply rail at the ratios of the groups that have active cores. */
  readonly setVsOf: (ratios: readonly number[]) => ArrayLike<number>
  /**
   * Asked at every tick after the first; true ends the stretch there. Where it is given the controller does not look at
   * the last tick: the next stretch does.
   */
  readonly isReached?: (state: Float64Array, hottestC: number) => boolean
  /** Asked between steps; true leaves the stretch there, because what comes after it is not asked for. */
  readonly isEnough?: () => boolean
}

export type StretchEnd = 'time' | 'reached' | 'trip'
