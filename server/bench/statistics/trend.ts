/** A straight line through a stretch of a series. */

import { correlationTime } from './series-mean.ts'

/** A straight line through a stretch of a series. */
export interface Trend {
  readonly mean: number
  /** Per second. */
  readonly slope: number
  /** Of the slope; correlated readings make it larger. */
  readonly standardUncertainty: number
  /** Spread of the readings about the line. */
  readonly sd: number
  /** How many of them are worth one independent reading. */
  readonly correlationTime: number
}

/**
 * Least squares of the points `from` up to but not with `to`; points without a value are left out.
 * The slope's uncertainty is s·√(τ/Σ(t − t̄)²) with the residuals' integrated autocorrelation time τ.
 * @returns undefined for fewer than three points with a value, or none apart in time
 */
export function trendOf(timeS: Float64Array, values: Float64Array, from: number, to: number): Trend | undefined {
  let [n, meanTime, mean] = [0, 0, 0]
  for (let at = from; at < to; at++) {
    if (Number.isNaN(values[at])) continue
    n++
    meanTime += timeS[at] as number
    mean += values[at] as number
  }
  if (n < 3) return undefined
  meanTime /= n
  mean /= n
  let [spread, product] = [0, 0]
  for (let at = from; at < to; at++) {
    if (Number.isNaN(values[at])) continue
    spread += ((timeS[at] as number) - meanTime) ** 2
    product += ((timeS[at] as number) - meanTime) * ((values[at] as number) - mean)
  }
  if (spread === 0) return undefined
  const slope = product / spread
  const residuals = new Float64Array(n)
  let squares = 0
  let next = 0
  for (let at = from; at < to; at++) {
    if (Number.isNaN(values[at])) continue
    const rest = (values[at] as number) - mean - slope * ((timeS[at] as number) - meanTime)
    residuals[next++] = rest
    squares += rest * rest
  }
  const variance = squares / (n - 2)
  const time = correlationTime(residuals, 0)
  return {
    mean,
    slope,
    standardUncertainty: Math.sqrt((variance * time) / spread),
    sd: Math.sqrt(variance),
    correlationTime: time,
  }
}
