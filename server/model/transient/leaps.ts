/** When a stretch leaps over many ticks at once, and how far: only over what no look at a single tick would change. */

import { createAhead } from './clear-ahead.ts'
import { createLeaper, type LeapComponent } from './leap.ts'
import { DIE, ENERGY } from './network.ts'
import type { Machine, Stretch } from './stretch.ts'

/** Leaps of 2⁷ to 2¹⁴ ticks: a shorter one costs as much as it saves. */
const LEAST_POWER = 7
const MOST_POWER = 14
/** The first one tried. */
const FIRST_POWER = 8
/** Ticks at one ratio before the first try; after a failed try the wait starts at this and doubles each time. */
const FIRST_PATIENCE = 200
const MOST_PATIENCE = 3200

/** Allowed error of one leap: hundreds add up to less than two implementations differ by. */
const TOLERANCE_K = 2e-8
const TOLERANCE_W = 1e-6
const TOLERANCE_A = 1e-7
/** Means over a leap. */
const MEAN_TOLERANCE_W = 1e-5
const MEAN_TOLERANCE_K = 1e-6

const NUDGE_K = 1e-3
const NUDGE_A = 1e-4

/** How the stretch goes on by one tick. */
interface Ticking {
  /** Steps a state a tick on at the held ratios and current; the heat drawn is in it. */
  readonly step: (state: Float64Array) => void
  /** The current a tick on. */
  readonly nextA: (state: Float64Array, currentA: number) => number
  /** Whether the current moves from tick to tick. */
  readonly isMoving: () => boolean
  /** Called when ticks have passed: the heat drawn, and the sum of the hottest core over them. */
  readonly passed: (count: number, energyJ: number, hottestSumC: number) => void
}

export interface Leaps {
  /** Whether one is worth a try after so many ticks without a change of ratio. */
  suits(quietTicks: number): boolean
  /** Makes ready to leap from here; the ticks of it, 0 where none passes clear. */
  from(machine: Machine, mostTicks: number): number
  /** Goes so many ticks on within the leap that was made ready. */
  pass(machine: Machine, count: number): void
}

export function createLeaps(stretch: Stretch, { step, nextA, isMoving, passed }: Ticking): Leaps {
  const { network, tickS, forget } = stretch
  const { size } = network
  const [mean, current, hottestSum, count] = [size, size + 1, size + 2, size + 3] as const
  const state = new Float64Array(size)
  const [x, before] = [new Float64Array(count), new Float64Array(count)]
  const components: LeapComponent[] = Array.from({ length: size }, () => ({
    nudge: NUDGE_K,
    own: 1,
    tolerance: TOLERANCE_K,
    isSum: false,
  }))
  const driveA = { nudge: 0, own: 1, tolerance: TOLERANCE_A, isSum: false }
  components[ENERGY] = { nudge: 0, own: 1, tolerance: MEAN_TOLERANCE_W * tickS, isSum: true }
  components[mean] = { nudge: 0, own: 1 - forget, tolerance: TOLERANCE_W, isSum: false }
  components[current] = driveA
  components[hottestSum] = { nudge: 0, own: 1, tolerance: MEAN_TOLERANCE_K, isSum: true }

  const leaper = createLeaper((from, to) => {
    for (let at = 0; at < size; at++) state[at] = from[at] as number
    const isMoved = isMoving()
    if (isMoved) network.holdCurrent(from[current] as number)
    state[ENERGY] = 0
    step(state)
    for (let at = 0; at < size; at++) to[at] = state[at] as number
    const drawnJ = state[ENERGY] as number
    to[ENERGY] = (from[ENERGY] as number) + drawnJ
    to[mean] = (from[mean] as number) + (drawnJ / tickS - (from[mean] as number)) * forget
    to[current] = isMoved ? nextA(state, from[current] as number) : (from[current] as number)
    to[hottestSum] = (from[hottestSum] as number) + network.hottestC(state[DIE] as number)
  }, components)
  const isClear = createAhead({ ...stretch, leaper, count, mean, current })
  let patience = FIRST_PATIENCE
  let quietNow = 0
  let triedFrom = FIRST_PATIENCE
  let next = FIRST_POWER
  let done = 0

  /** The furthest power of two that passes clear; 0 where none does. */
  const furthest = (mostTicks: number): number => {
    let isBlocked = false
    for (let power = Math.min(next, Math.floor(Math.log2(mostTicks))); power >= LEAST_POWER; ) {
      const error = leaper.errorAfter(power)
      // What a leap is off grows with the third power of its length: what the map's curvature adds at a tick grows with the
      // square of the distance, and is summed over the ticks.
      if (error > 1) power -= Math.min(4, Math.max(1, Math.ceil(Math.log2(error) / 3)))
      else if (isClear(2 ** power)) {
        const further = isBlocked ? 1 : Math.min(3, Math.floor(-Math.log2(Math.max(error, 1e-12)) / 3))
        next = Math.min(MOST_POWER, power + further)
        return power
      } else {
        isBlocked = true
        power--
      }
    }
    return 0
  }

  return {
    suits: quietTicks => {
      // Where the ratio has changed the count begins again.
      if (quietTicks < quietNow) triedFrom = FIRST_PATIENCE
      quietNow = quietTicks
      return quietTicks >= triedFrom
    },
    from: ({ y, meanW, currentA }, mostTicks) => {
      if (mostTicks < 2 ** LEAST_POWER) return 0
      x.set(y)
      x[ENERGY] = x[hottestSum] = 0
      x[mean] = meanW
      x[current] = currentA
      driveA.nudge = isMoving() ? NUDGE_A : 0
      leaper.begin(x)
      const power = furthest(mostTicks)
      network.holdCurrent(currentA)
      if (power === 0) {
        triedFrom = quietNow + patience
        patience = Math.min(MOST_PATIENCE, patience * 2)
        next = FIRST_POWER
        return 0
      }
      patience = FIRST_PATIENCE
      done = 0
      return 2 ** power
    },
    pass: (machine, ticks) => {
      before.set(x)
      done += ticks
      leaper.at(done, x)
      for (let at = 0; at < size; at++) machine.y[at] = x[at] as number
      machine.meanW = x[mean] as number
      machine.currentA = x[current] as number
      machine.hottestC = network.hottestC(x[DIE] as number)
      network.holdCurrent(machine.currentA)
      passed(
        ticks,
        (x[ENERGY] as number) - (before[ENERGY] as number),
        (x[hottestSum] as number) - (before[hottestSum] as number),
      )
    },
  }
}
