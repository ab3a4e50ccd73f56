/** What a logged figure had still to go, read off the log itself: the bench may be slower than it is said to be. */

import { correlationTime } from '../statistics/series-mean.ts'

/** Points from `from` up to but not with `to`. */
export interface Stretch {
  readonly from: number
  readonly to: number
}

/** A curve is straight enough for so many means, and quick to fit. */
const MEANS = 96
/** A bench may be slower than it is described to be by this factor, or as slow as the stretch is long. */
const SLOWEST = 6
const TRIED = 12
/** By how much, in variances of a mean, a curve must be nearer than a level to count: more than chance for two constants. */
const SHOWS = 12

export interface Remaining {
  readonly likeliest: number
  /** The most in size that the log allows. */
  readonly most: number
}

const none: Remaining = { likeliest: 0, most: 0 }

/**
 * What remains to be settled, on the average over a window: y = c + A·e^(−t/τ) is fitted to a stretch around the window
 * by least squares, for time constants τ from a quarter of the bench's to six times that or to the stretch's length; it is −A times the mean of
 * the exponential over the window; at most, for any τ within two standard deviations of the best. 0 where no curve shows.
 */
export function remainingOf(
  timeS: Float64Array,
  values: Float64Array,
  stretch: Stretch,
  window: Stretch,
  timeConstantS: number,
): Remaining {
  const [t, y]: number[][] = [[], []]
  const per = Math.max(1, Math.ceil((stretch.to - stretch.from) / MEANS))
  for (let at = stretch.from; at < stretch.to; at += per) {
    let [n, time, value] = [0, 0, 0]
    for (let own = at; own < Math.min(at + per, stretch.to); own++) {
      if (Number.isNaN(values[own])) continue
      n++
      time += timeS[own] as number
      value += values[own] as number
    }
    if (n === 0) continue
    t?.push(time / n)
    y?.push(value / n)
  }
  const n = t?.length ?? 0
  if (t === undefined || y === undefined || n < 8) return none
  const mean = (list: readonly number[]): number => list.reduce((sum, value) => sum + value, 0) / n
  const level = mean(y)
  const squares = y.reduce((sum, value) => sum + (value - level) ** 2, 0)
  const start = t[0] as number
  const slowest = Math.max(SLOWEST * timeConstantS, (t.at(-1) as number) - start)
  const all: { readonly left: number; readonly remaining: number }[] = []
  let best = { left: squares, remaining: 0, rest: y as readonly number[] }
  for (let tried = 0; tried <= TRIED; tried++) {
    const tau = (timeConstantS / 4) * ((4 * slowest) / timeConstantS) ** (tried / TRIED)
    const curve = t.map(time => Math.exp((start - time) / tau))
    const middle = mean(curve)
    let [spread, product] = [0, 0]
    curve.forEach((value, at) => {
      spread += (value - middle) ** 2
      product += (value - middle) * ((y[at] as number) - level)
    })
    const left = squares - product ** 2 / spread
    const size = product / spread
    const [from, to] = [timeS[window.from] as number, timeS[window.to - 1] as number]
    const over = (tau * (Math.exp((start - from) / tau) - Math.exp((start - to) / tau))) / (to - from || 1)
    const remaining = -size * over
    all.push({ left, remaining })
    if (!(left < best.left)) continue
    const rest = y.map((value, at) => value - level - size * ((curve[at] as number) - middle))
    best = { left, remaining, rest }
  }
  const variance = (Math.max(0, best.left) * correlationTime(best.rest, 0)) / Math.max(1, n - 3)
  if (!(squares - best.left > SHOWS * variance)) return none
  const likely = all.filter(({ left }) => left <= best.left + 4 * variance)
  return { likeliest: best.remaining, most: Math.max(...likely.map(({ remaining }) => Math.abs(remaining))) }
}

/** With fewer values than this the steps between them need not be those of the sensor. */
const FEW = 4

/** Decimals of a number as one writes it. */
const decimals = (value: number): number => /\.(\d+)/.exec(String(Number(value.toPrecision(9))))?.[1]?.length ?? 0

/**
 * The step in which a figure is logged: the smallest between two values that are not the same; 0 where there are
 * none. A figure that hardly ever changes is taken to be written to its last digit.
 */
export function resolutionOf(values: Float64Array, rowsPerPoint: number): number {
  const sorted = values.filter(value => !Number.isNaN(value)).sort()
  let [step, distinct] = [Number.POSITIVE_INFINITY, 1]
  for (let at = 1; at < sorted.length; at++) {
    const [before, own] = [sorted[at - 1] as number, sorted[at] as number]
    // Conversions of units leave the last bits unlike.
    if (!(own - before > 1e-9 * Math.abs(own))) continue
    step = Math.min(step, own - before)
    distinct++
  }
  const first = sorted[0]
  if (first === undefined) return 0
  const digit = 10 ** -Math.max(decimals(first), decimals(sorted.at(-1) as number))
  const changes = values.reduce((sum, value, at) => (at > 0 && value !== values[at - 1] ? sum + 1 : sum), 0)
  return distinct < FEW && changes < 2 * FEW ? Math.min(step, digit) : step * rowsPerPoint
}
