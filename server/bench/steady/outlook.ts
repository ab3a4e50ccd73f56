/** Where a log that is still being written is going: the level that a figure settles at, and when. */

import { correlationTime } from '../statistics/series-mean.ts'

/** A curve is straight enough for so many means, and quick to fit. */
const MEANS = 96
const TRIED = 160
/** The slowest part of the way may be this much quicker or slower than the bench is said to be. */
const FACTOR = 6
/** By how much, in variances of a mean, a curve must be nearer than a level to count: more than chance for two constants. */
const SHOWS = 12
/** The quick parts of the way, of die and plate, are over after this share of a log; the slow part is what is left. */
const SKIPPED = 0.4
/** A level that is known less well than this says nothing to a person who waits, in K. */
const VAGUE_K = 4

export interface SettlingOutlook {
  readonly settlesAt: number
  readonly standardUncertainty: number
  /** From the last row on, until it is within half a kelvin. */
  readonly inS: number
}

/** The same limit as a steady stretch has. */
const NEAR_K = 0.5

/**
 * y = c + A·e^(−t/τ), fitted by least squares to the later part of a stretch for time constants τ around the bench's; c is
 * where it settles, its uncertainty the spread of c over every τ within two standard deviations of the best.
 * Undefined where no curve shows, or where it says too little.
 * @param timeConstantS the slowest of the bench
 */
export function settlingOutlook(
  timeS: ArrayLike<number>,
  values: ArrayLike<number>,
  timeConstantS: number,
): SettlingOutlook | undefined {
  const t: number[] = []
  const y: number[] = []
  const first = Math.floor(timeS.length * SKIPPED)
  const per = Math.max(1, Math.ceil((timeS.length - first) / MEANS))
  for (let at = first; at < timeS.length; at += per) {
    let [n, time, value] = [0, 0, 0]
    for (let own = at; own < Math.min(at + per, timeS.length); own++) {
      const one = values[own] as number
      if (Number.isNaN(one)) continue
      n++
      time += timeS[own] as number
      value += one
    }
    if (n === 0) continue
    t.push(time / n)
    y.push(value / n)
  }
  const n = t.length
  if (n < 12) return undefined
  const mean = (list: readonly number[]): number => list.reduce((sum, value) => sum + value, 0) / n
  const level = mean(y)
  const squares = y.reduce((sum, value) => sum + (value - level) ** 2, 0)
  const [start, end] = [t[0] as number, t.at(-1) as number]
  const fits = Array.from({ length: TRIED + 1 }, (_, tried) => {
    const tau = (timeConstantS / FACTOR) * (FACTOR * FACTOR) ** (tried / TRIED)
    const curve = t.map(time => Math.exp((start - time) / tau))
    const middle = mean(curve)
    let [spread, product] = [0, 0]
    curve.forEach((value, at) => {
      spread += (value - middle) ** 2
      product += (value - middle) * ((y[at] as number) - level)
    })
    const size = product / spread
    return { tau, size, left: squares - product ** 2 / spread, settlesAt: level - size * middle }
  })
  const best = fits.reduce((a, b) => (b.left < a.left ? b : a))
  const rest = y.map(
    (value, at) => value - best.settlesAt - best.size * Math.exp((start - (t[at] as number)) / best.tau),
  )
  const variance = (Math.max(0, best.left) * correlationTime(rest, 0)) / Math.max(1, n - 3)
  if (!(squares - best.left > SHOWS * variance)) return undefined
  const likely = fits.filter(({ left }) => left <= best.left + 4 * variance)
  const spread = Math.max(...likely.map(({ settlesAt }) => Math.abs(settlesAt - best.settlesAt))) / 2
  const standardUncertainty = Math.hypot(spread, Math.sqrt(variance / n))
  if (standardUncertainty > VAGUE_K) return undefined
  const still = Math.abs(best.size) * Math.exp((start - end) / best.tau)
  return { settlesAt: best.settlesAt, standardUncertainty, inS: Math.max(0, best.tau * Math.log(still / NEAR_K)) }
}
