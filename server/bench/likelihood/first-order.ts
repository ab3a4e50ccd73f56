/** First-order noise about an unknown trend: how much of one reading is left in the next, as the likelihood has it. */

import { factor } from '../statistics/cholesky.ts'

/** What a fit may have taken from readings in a row: a curve of this many terms at the most, one for so many readings. */
const MOST_TERMS = 4
const READINGS_PER_TERM = 8

/** Integrated correlation times that are tried, in readings. */
const times = Array.from({ length: 57 }, (_, at) => 4000 ** (at / 56))
/** Before any reading: about that of most loggers, within this factor; engineering judgement. */
const USUAL_TIME = 9
const TIME_FACTOR = 3

export interface FirstOrder {
  /** Integrated correlation time, in readings. */
  readonly time: number
  /** Variance of one reading times that time: over many readings, n times the variance of their mean. */
  readonly longVariance: number
}

/**
 * The posterior means of time and variance, with a uniform prior of the trend's coefficients and of the logarithm of the
 * variance. Residuals of a fit lack what the fit took, and that is the slow part: from them alone a time comes out too
 * small, the more so the shorter the series. The restricted likelihood, which is the same whatever trend was taken, is free
 * of that (H. D. Patterson and R. Thompson, Biometrika 58, 1971; cited from memory).
 */
export function firstOrderAbout(residuals: ArrayLike<number>): FirstOrder {
  const n = residuals.length
  const terms = Math.max(1, Math.min(MOST_TERMS, Math.floor(n / READINGS_PER_TERM)))
  const series = [...trend(n, terms), residuals]
  const size = series.length
  // Sums of products, by which those of the whitened series are a polynomial in the correlation of neighbours.
  const [whole, lagged, inner] = [0, 1, 2].map(() => new Float64Array(size * size)) as [
    Float64Array,
    Float64Array,
    Float64Array,
  ]
  for (let i = 0; i < size; i++)
    for (let j = 0; j <= i; j++) {
      const [a, b] = [series[i] as ArrayLike<number>, series[j] as ArrayLike<number>]
      let [own, next, between] = [0, 0, 0]
      for (let at = 0; at < n; at++) {
        const product = (a[at] as number) * (b[at] as number)
        own += product
        if (at > 0 && at < n - 1) between += product
        if (at > 0) next += (a[at] as number) * (b[at - 1] as number) + (a[at - 1] as number) * (b[at] as number)
      }
      whole[i * size + j] = own
      lagged[i * size + j] = next
      inner[i * size + j] = between
    }
  const freedom = n - terms
  const weights: number[] = []
  // A longer one is a trend.
  const tried = times.filter(time => time <= n)
  const found = tried.map(time => {
    const kept = (time - 1) / (time + 1)
    const l = whole.map((value, at) => value - kept * (lagged[at] as number) + kept * kept * (inner[at] as number))
    // Zero residuals have no spread.
    const last = size * size - 1
    l[last] = (l[last] as number) * (1 + 1e-12) + Number.MIN_VALUE
    if (!factor(l, size)) {
      weights.push(Number.NEGATIVE_INFINITY)
      return 0
    }
    let log = Math.log(1 - kept * kept) / 2 - freedom * Math.log(l[last] as number)
    for (let term = 0; term < terms; term++) log -= Math.log(l[term * size + term] as number)
    weights.push(log - (Math.log(time / USUAL_TIME) / Math.log(TIME_FACTOR)) ** 2 / 2)
    return (l[last] as number) ** 2 / freedom / (1 - kept) ** 2
  })
  const most = Math.max(...weights)
  let [sum, time, longVariance] = [0, 0, 0]
  weights.forEach((log, at) => {
    const weight = Math.exp(log - most)
    sum += weight
    time += weight * (tried[at] as number)
    longVariance += weight * (found[at] as number)
  })
  return { time: time / sum, longVariance: longVariance / sum }
}

/** Legendre's polynomials over the readings. */
function trend(n: number, terms: number): Float64Array[] {
  const x = Float64Array.from({ length: n }, (_, at) => (n < 2 ? 0 : (2 * at) / (n - 1) - 1))
  const found = [new Float64Array(n).fill(1), x]
  for (let k = 1; k + 1 < terms; k++) {
    const [own, before] = [found[k] as Float64Array, found[k - 1] as Float64Array]
    found.push(x.map((value, at) => ((2 * k + 1) * value * (own[at] as number) - k * (before[at] as number)) / (k + 1)))
  }
  return found.slice(0, terms)
}
