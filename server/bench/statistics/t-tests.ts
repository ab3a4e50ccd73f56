/** Student's comparisons of two sets of figures. */
import tCdf from '@stdlib/stats-base-dists-t-cdf'
import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { meanOf, varianceOf } from './moments.ts'

export interface TTest {
  /** Mean of the first set less mean of the second; for pairs the mean difference. */
  readonly difference: number
  /** Its standard uncertainty. */
  readonly standardUncertainty: number
  readonly t: number
  readonly degreesOfFreedom: number
  /** Probability of a difference at least this large where there is none. */
  readonly p: number
  /** The 95 % interval of the difference. */
  readonly interval: readonly [low: number, high: number]
}

/** A test from a difference with its uncertainty. Two equal sets without any spread differ by nothing, with p = 1. */
function fromDifference(difference: number, standardUncertainty: number, degreesOfFreedom: number): TTest {
  const same = difference === 0 && standardUncertainty === 0
  const t = same ? 0 : difference / standardUncertainty
  const reach = standardUncertainty === 0 ? 0 : tQuantile(0.975, degreesOfFreedom) * standardUncertainty
  const p = Number.isFinite(t) ? 2 * tCdf(-Math.abs(t), degreesOfFreedom) : 0
  return {
    difference,
    standardUncertainty,
    t,
    degreesOfFreedom,
    p,
    interval: [difference - reach, difference + reach],
  }
}

/** Degrees of freedom of a sum of two variances, by Welch and Satterthwaite. */
function welchFreedom(first: number, firstN: number, second: number, secondN: number): number {
  const sum = first + second
  if (sum === 0) return firstN + secondN - 2
  return (sum * sum) / ((first * first) / (firstN - 1) + (second * second) / (secondN - 1))
}

/**
 * Welch's t: two sets that need not spread alike (B. L. Welch, Biometrika 34, 1947).
 * @param least what the variance of each mean is at least
 * @returns undefined where a set has fewer than two figures: then nothing is known of its spread
 */
export function welchTest(
  first: readonly number[],
  second: readonly number[],
  least: readonly [number, number] = [0, 0],
): TTest | undefined {
  if (first.length < 2 || second.length < 2) return undefined
  const a = Math.max(least[0], varianceOf(first) / first.length)
  const b = Math.max(least[1], varianceOf(second) / second.length)
  const freedom = welchFreedom(a, first.length, b, second.length)
  return fromDifference(meanOf(first) - meanOf(second), Math.sqrt(a + b), freedom)
}

/**
 * Student's t for pairs: what both members share (the evening, the room) drops out.
 * @param least what the variance of the mean difference is at least
 * @returns undefined where there are fewer than two pairs or the sets are not equally long
 */
export function pairedTest(first: readonly number[], second: readonly number[], least = 0): TTest | undefined {
  const n = first.length
  if (n < 2 || second.length !== n) return undefined
  const differences = first.map((value, index) => value - (second[index] as number))
  return fromDifference(meanOf(differences), Math.sqrt(Math.max(least, varianceOf(differences) / n)), n - 1)
}
