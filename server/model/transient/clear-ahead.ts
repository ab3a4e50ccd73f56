/**
 * Whether a leap over many ticks passes nothing that a look at each of them would have seen: a threshold of the
 * controller, the trip, the die ceiling, a temperature that is waited for, a turn of a figure whose extreme is kept.
 */

import type { Controller } from './control.ts'
import type { Leaper } from './leap.ts'
import { DIE, ENERGY, type Network, SENSED } from './network.ts'

/** Looks per leap, evenly spaced; before the first, also after 1, 2, 4 … ticks, because fast transients die away early. */
const LOOKS = 8
/** A figure that stays within this, in K, W or A, is as good as still. */
const STILL = 2e-6
/** A change as small as this is rounding. */
const ROUNDING = 1e-9

export interface AheadSetup {
  readonly leaper: Leaper
  readonly network: Network
  readonly controller: Controller
  readonly tripC: number
  readonly ceilingC: number
  readonly isReached?: (state: Float64Array, hottestC: number) => boolean
  /** Components of the machine in a leap, and which of them are its mean power and its current. */
  readonly count: number
  readonly mean: number
  readonly current: number
}

/** A figure on the way: its range, and whether it turned. */
class Course {
  low = Number.POSITIVE_INFINITY
  high = Number.NEGATIVE_INFINITY
  isTurned = false
  private last = Number.NaN
  private direction = 0

  begin(): void {
    this.low = Number.POSITIVE_INFINITY
    this.high = Number.NEGATIVE_INFINITY
    this.isTurned = false
    this.last = Number.NaN
    this.direction = 0
  }

  add(value: number): void {
    const by = value - this.last
    if (Math.abs(by) > ROUNDING) {
      const direction = Math.sign(by)
      if (direction === -this.direction) this.isTurned = true
      this.direction = direction
    }
    this.last = value
    if (value < this.low) this.low = value
    if (value > this.high) this.high = value
  }

  get isSteady(): boolean {
    return this.high - this.low <= STILL || !this.isTurned
  }

  /** Between two looks it may be beyond both, by no more than the whole way is wide. */
  get least(): number {
    return 2 * this.low - this.high - STILL
  }
  get most(): number {
    return 2 * this.high - this.low + STILL
  }
}

/** @returns asked for a leap of so many ticks from where the leaper began; leaves the network with another current held */
export function createAhead(setup: AheadSetup): (ticks: number) => boolean {
  const { leaper, network, controller, tripC, ceilingC, isReached, count, mean, current } = setup
  const { size, hasModules } = network
  const x = new Float64Array(count)
  const components = Array.from({ length: count }, () => new Course())
  const [hottest, power, drive] = [new Course(), new Course(), new Course()] as const
  const kept = [...components.filter((_, at) => at !== ENERGY && at !== SENSED && at < size), hottest, power, drive]
  const all = [...components, hottest, power, drive]
  const [low, high] = [new Float64Array(size), new Float64Array(size)]
  const die = components[DIE] as Course
  const sensed = components[SENSED] as Course
  const meanW = components[mean] as Course

  return ticks => {
    for (const one of all) one.begin()
    for (let tick = 0; tick <= ticks; tick += tick < ticks / LOOKS ? Math.max(1, tick) : ticks / LOOKS) {
      leaper.at(tick, x)
      for (let at = 0; at < count; at++) (components[at] as Course).add(x[at] as number)
      hottest.add(network.hottestC(x[DIE] as number))
      power.add(network.powerAt(x[DIE] as number).powerW)
      if (!hasModules) continue
      network.holdCurrent(x[current] as number)
      drive.add(network.driveW(x))
    }
    // Where the numbers end there is nothing to leap over.
    if (!(die.low < die.high + 1) || kept.some(one => !one.isSteady)) return false
    if (!(hottest.most < tripC) || (hottest.most >= ceilingC && hottest.least < ceilingC)) return false
    if (!controller.isIdle(sensed.least, sensed.most, meanW.least, meanW.most)) return false
    if (isReached === undefined) return true
    for (let at = 0; at < size; at++) {
      low[at] = (components[at] as Course).least
      high[at] = (components[at] as Course).most
    }
    return !isReached(low, hottest.least) && !isReached(high, hottest.most)
  }
}
