/** The clock of one group of cores over a run: its sliding second, and its means. */

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
  const ring = new Float64Array(windowTicks)
  const from = lateFrom(ticks)
  const slowerSeconds: { timeS: number; clockMhz: number }[] = []
  let passed = 0
  let windowSum = 0
  let lowest = Number.POSITIVE_INFINITY
  let lowestTick = 0
  let sinceRatio = 0
  let sinceTicks = 0
  let lateRatio = 0
  let lastRatio = Number.NaN
  /** Ticks at the ratio of the last. */
  let even = 0
  const tick = (ratio: number): void => {
    const slot = passed % windowTicks
    windowSum += ratio - (ring[slot] as number)
    ring[slot] = ratio
    passed++
    sinceRatio += ratio
    sinceTicks++
    if (passed >= windowTicks && windowSum < lowest) {
      // Sums of ratios carry rounding noise; a second that is slower by that alone is not.
      if (windowSum < lowest - 1e-6) {
        slowerSeconds.push({ timeS: timeOf(passed, tickS), clockMhz: (windowSum / windowTicks) * referenceMhz })
      }
      lowest = windowSum
      lowestTick = passed
    }
    if (passed > from) lateRatio += ratio
    even = ratio === lastRatio ? even + 1 : 1
    lastRatio = ratio
  }
  return {
    tick,
    pass: (ratio, count) => {
      let left = count
      for (; left > 0 && (even < windowTicks || ratio !== lastRatio); left--) tick(ratio)
      // A second at one ratio is as slow at its end as a tick before.
      if (passed >= from) lateRatio += ratio * left
      passed += left
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
        lowestSecondMhz: (full ? lowest / windowTicks : windowSum / Math.max(1, passed)) * referenceMhz,
        lowestSecondS: timeOf(full ? lowestTick : passed, tickS),
        slowerSeconds,
      }
    },
    lateMhz: () => (lateRatio / (passed - from)) * referenceMhz,
  }
}
