/** How the readings of one sensor scatter, and how much of that is left in the next reading. */

import { SD_PER_MEDIAN_DEVIATION } from '../statistics/moments.ts'
import { correlationTime } from '../statistics/series-mean.ts'
import { firstOrderAbout } from './first-order.ts'

export interface Noise {
  /** Standard deviation of one reading. */
  readonly sd: number
  /** Correlation of neighbouring readings. */
  readonly kept: number
}

/** As many independent readings are taken up by what was fitted to them; engineering judgement. */
const FITTED = 3
const MOST_KEPT = 0.9995

/**
 * The noise that residuals show: their spread, and their correlation as that of a first-order process, each as likely as it
 * is beside what a fit took from them. Where their own autocorrelation time says more, the noise is not of first order, and
 * that counts.
 */
export function noiseOf(residuals: ArrayLike<number>, least: number): Noise {
  const n = residuals.length
  let squares = 0
  for (let at = 0; at < n; at++) squares += (residuals[at] as number) ** 2
  if (n < 4) return { sd: Math.max(least, Math.sqrt(squares / Math.max(1, n))), kept: 0 }
  const own = Math.min(n, correlationTime(residuals, 0))
  const ownVariance = squares / Math.max(n / 4, n - FITTED * own)
  const first = firstOrderAbout(residuals)
  const isFirst = first.longVariance >= ownVariance * own
  const time = isFirst ? first.time : own
  const variance = isFirst ? first.longVariance / time : ownVariance
  return { sd: Math.max(least, Math.sqrt(variance)), kept: Math.min(MOST_KEPT, (time - 1) / (time + 1)) }
}

/** Correlation of neighbouring readings before any fit, about that of most loggers; engineering judgement. */
const FIRST_KEPT = 0.8

/** The noise before any fit, from the steps between one reading and the next. */
export function firstNoise(values: ArrayLike<number>, least: number): Noise {
  const steps: number[] = []
  for (let at = 1; at < values.length; at++) {
    const by = (values[at] as number) - (values[at - 1] as number)
    if (!Number.isNaN(by)) steps.push(Math.abs(by))
  }
  steps.sort((a, b) => a - b)
  const middle = steps[steps.length >> 1] ?? 0
  return { sd: Math.max(least, (SD_PER_MEDIAN_DEVIATION * middle) / Math.sqrt(2 * (1 - FIRST_KEPT))), kept: FIRST_KEPT }
}

/** Some readings in a row: how many, and how many readings of the same sensor come before them. */
export interface Stretch {
  readonly count: number
  readonly before: number
}

/** Covariance of the means of two stretches, the second one not before the first; exact for a first-order process. */
export function meansCovariance({ sd, kept }: Noise, first: Stretch, second: Stretch): number {
  const [n, m] = [first.count, second.count]
  const variance = sd * sd
  if (first.before === second.before) {
    if (kept === 0) return variance / n
    const geometric = (1 - kept ** n) / (1 - kept)
    return (variance * (n * (1 + kept) - 2 * kept * geometric)) / (n * n * (1 - kept))
  }
  if (kept === 0) return 0
  const gap = second.before - (first.before + n)
  const [own, other] = [(1 - kept ** n) / (1 - kept), (1 - kept ** m) / (1 - kept)]
  return (variance * kept ** (gap + 1) * own * other) / (n * m)
}
