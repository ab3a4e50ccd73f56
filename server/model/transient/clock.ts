/** The clock of one group of cores over a run: its sliding second, and its means. */

import { Second } from './second.ts'

/** The sliding second of `holds … for`. */
export const WINDOW_S = 1

/** Means of a clock that are found at the end of a run. */
export interface ClockOverTime {
  /** Lowest mean clock over any full second, in MHz; the whole run where it is shorter. */
  readonly lowestSecondMhz: number
  /** When that second ended. */
  readonly lowestSecondS: number
  /** Each second that was slower than all before it: when it ended, and its mean clock in MHz. */
  readonly slowerSeconds: readonly { readonly timeS: number; readonly clockMhz: number }[]
}

export interface ClockSetup {
  readonly referenceMhz: number
  readonly tickS: number
  /** The ticks of the whole run. */
  readonly ticks: number
}

/** To the nanosecond, so that the third tick of 0.1 s is 0.3 s and not a trace beside it. */
export const timeOf = (ticksPassed: number, tickS: number): number => Math.round(ticksPassed * tickS * 1e9) / 1e9

/** The last fifth of a run, whose means are kept, begins after so many ticks. */
export const lateFrom = (ticks: number): number => ticks - Math.max(1, Math.round(ticks / 5))

export interface RunClock {
  /** One tick has passed at this ratio. */
  tick(ratio: number): void
  /** So many ticks have passed at this ratio, all before the last fifth of the run or all in it. */
  pass(ratio: number, count: number): void
  /** Mean since it was last asked for, in MHz. */
  sinceMhz(): number
  /** The slowest full second so far; infinite before the first is over. */
  lowestSecondMhz(): number
  finish(): ClockOverTime
  /** Mean over the last fifth of the run; not a number where that never began. */
  lateMhz(): number
}

export function createClock({ referenceMhz, tickS, ticks }: ClockSetup): RunClock {
  const windowTicks = Math.max(1, Math.min(ticks, Math.round(WINDOW_S / tickS)))
  const second = new Second(windowTicks)
  const from = lateFrom(ticks)
  const slowerSeconds: { timeS: number; clockMhz: number }[] = []
  let lowest = Number.POSITIVE_INFINITY
  let lowestTick = 0
  let sinceRatio = 0
  let sinceTicks = 0
  let lateRatio = 0
  const tick = (ratio: number): void => {
    second.tick(ratio)
    const { sum, passed } = second
    sinceRatio += ratio
    sinceTicks++
    if (passed >= windowTicks && sum < lowest) {
      // Sums of ratios carry rounding noise; a second that is slower by that alone is not.
      if (sum < lowest - 1e-6) {
        slowerSeconds.push({ timeS: timeOf(passed, tickS), clockMhz: (sum / windowTicks) * referenceMhz })
      }
      lowest = sum
      lowestTick = passed
    }
    if (passed > from) lateRatio += ratio
  }
  return {
    tick,
    pass: (ratio, count) => {
      let left = count
      for (; left > 0 && !second.isEvenAt(ratio); left--) tick(ratio)
      if (second.passed >= from) lateRatio += ratio * left
      second.pass(left)
      sinceRatio += ratio * left
      sinceTicks += left
    },
    sinceMhz: () => {
      const mean = (sinceRatio / sinceTicks) * referenceMhz
      sinceRatio = sinceTicks = 0
      return mean
    },
    lowestSecondMhz: () => (lowest / windowTicks) * referenceMhz,
    finish: () => {
      const full = Number.isFinite(lowest)
      return {
        lowestSecondMhz: (full ? lowest / windowTicks : second.sum / Math.max(1, second.passed)) * referenceMhz,
        lowestSecondS: timeOf(full ? lowestTick : second.passed, tickS),
        slowerSeconds,
      }
    },
    lateMhz: () => (lateRatio / (second.passed - from)) * referenceMhz,
  }
}
