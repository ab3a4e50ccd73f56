/** The mean of correlated readings, and how sure it is. */

import { autocorrelationAt, meanOf, varianceOf } from './moments.ts'

/**
 * The mean of a logged series with its uncertainty. Readings a second apart are not independent: the die's heat
 * capacity and the logger's own smoothing tie them together, and the usual s/√n would be far too small.
 */
export interface SeriesMean {
  readonly mean: number
  /** Standard deviation of the readings. */
  readonly sd: number
  readonly n: number
  /** How many independent readings the series is worth: n/τ. */
  readonly effectiveN: number
  /** Integrated autocorrelation time τ in readings; 1 for independent ones. */
  readonly correlationTime: number
  /** Standard uncertainty of the mean, s·√(τ/n), with s freed of the bias that τ brings. NaN for fewer than two readings. */
  readonly standardUncertainty: number
}

/**
 * Integrated autocorrelation time τ = 1 + 2·Σρₖ, in readings. The sum ends where the sum of two neighbouring
 * correlations first falls below zero, and is kept from rising (Geyer's initial monotone sequence: C. J. Geyer,
 * "Practical Markov chain Monte Carlo", Statistical Science 7, 1992; cited from memory), so that the noise of the far
 * correlations adds nothing. Never below 1: a series that swings about its mean is not counted as better than
 * independent readings.
 */
export function correlationTime(values: ArrayLike<number>, mean: number = meanOf(values)): number {
  return summed(values, mean).time
}

/** That time, and over how many readings correlations were summed. */
function summed(values: ArrayLike<number>, mean: number): { readonly time: number; readonly lag: number } {
  const n = values.length
  const centred = new Float64Array(n)
  let own = 0
  for (let index = 0; index < n; index++) {
    const from = (values[index] as number) - mean
    centred[index] = from
    own += from * from
  }
  if (n < 4 || !(own > 0)) return { time: 1, lag: 0 }
  const at = (lag: number): number => autocorrelationAt(centred, lag, 0)
  let sum = 0
  let before = Number.POSITIVE_INFINITY
  let lag = 0
  for (; lag + 1 < n; lag += 2) {
    const pair = Math.min(before, at(lag) + at(lag + 1))
    if (!(pair > 0)) break
    sum += pair
    before = pair
  }
  return { time: Math.min(n, Math.max(1, 2 * sum - 1)), lag }
}

/**
 * Mean, spread and standard uncertainty of a series of equally spaced readings.
 *
 * u = √(s²·τ/n) with s² divided by n − τ instead of n, since correlated readings spread less about their own
 * mean (A. Zięba, "Effective number of observations and unbiased estimators of variance for autocorrelated data",
 * Metrology and Measurement Systems 17, 2010; cited from memory). Correlations about a series' own mean are too small,
 * each by about τ/n: what that costs over the W readings that were summed is put back by 1 + (2W + 1)/n (U. Wolff, Comput.
 * Phys. Commun. 156, 2004; cited from memory).
 */
export function meanOfSeries(values: ArrayLike<number>): SeriesMean {
  const n = values.length
  const mean = meanOf(values)
  const variance = varianceOf(values, mean)
  const { time: found, lag } = summed(values, mean)
  const time = Math.min(n, lag === 0 ? found : found * (1 + (2 * lag + 1) / n))
  const effectiveN = n / time
  const unbiased = effectiveN > 1 ? (variance * (n - 1)) / (n - time) : Number.NaN
  return {
    mean,
    sd: Math.sqrt(variance),
    n,
    effectiveN,
    correlationTime: time,
    standardUncertainty: Math.sqrt((unbiased * time) / n),
  }
}
