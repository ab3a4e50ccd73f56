/**
 * How much better one set of scores is than another, in percent, and whether that is more than noise.
 *
 * One method: the 95 % interval has every ratio of the two means that Student's t test does not reject at 5 %. The test is
 * the paired one where both were run on the same days, else Welch's, which needs no equal spreads.
 */
import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { meanOf, varianceOf } from './moments.ts'
import { pairedTest, welchTest } from './t-tests.ts'

export type Better = 'higher' | 'lower'

/** Which of Student's tests the interval and p are of; `none` where there are too few scores for one. */
export type GainMethod = 'welch' | 'paired' | 'none'

export type GainVerdict =
  /** Better, and more than noise. */
  | 'better'
  /** Worse, and more than noise. */
  | 'worse'
  /** These scores do not show a difference. That is not the same as showing that there is none. */
  | 'not-shown'
  /** Too few scores for an interval. */
  | 'too-few'

export interface Gain {
  readonly n: number
  readonly mean: number
  /** NaN for a single score. */
  readonly sd: number
  /**
   * Positive where the second set is better. For `higher` it is second over first, for `lower` (times) first over
   * second, each less one: a time that is halved is a gain of 100 %.
   */
  readonly gainPct: number
  /** 95 %; undefined where there are too few scores, or where they scatter too much for it to have an end. */
  readonly intervalPct: readonly [low: number, high: number] | undefined
  readonly p: number | undefined
  readonly method: GainMethod
  readonly verdict: GainVerdict
  /** Scores of one set differ by less than their last digit tells. */
  readonly coarse: boolean
}

export interface GainOptions {
  readonly better: Better
  /** The scores belong together one by one: the same evening, the same order. */
  readonly pairing?: 'paired' | 'independent'
}

type Interval = readonly [low: number, high: number]

/** A difference whose probability by chance is below this is more than noise. */
const CHANCE = 0.05

function percent(ratio: number): number {
  return 100 * (ratio - 1)
}

/** The last digit that any of the scores has; whole numbers are counted as such. */
function lastDigit(scores: readonly number[]): number {
  const decimals = scores.map(score => {
    const [, fraction = '', power = '0'] = /^[^.e]*(?:\.(\d+))?(?:e(.+))?$/.exec(String(score)) ?? []
    return fraction.length - Number(power)
  })
  return 10 ** -Math.max(0, ...decimals)
}

/** Scores that all but agree are rounded alike: more of them tell no more than one. */
const isCoarse = (values: readonly number[], digit: number): boolean => Math.sqrt(varianceOf(values)) < digit / 2

/** Two means with their variances and covariance. */
interface Means {
  readonly a: number
  readonly b: number
  readonly aa: number
  readonly bb: number
  readonly ab: number
}

/**
 * The 95 % interval of a ratio of means: all ratios θ at which a − θb is no more than t of its standard uncertainties
 * (E. C. Fieller, J. R. Stat. Soc. B 16, 1954; cited from memory). The degrees of freedom are those of the test of equal
 * means, so that it has the ratio 1 if and only if that test finds no difference. Scores are positive, and so is their
 * ratio.
 * @returns undefined where the set has no end, since the lower mean may as well be nothing
 */
function fieller({ a, b, aa, bb, ab }: Means, t: number): Interval | undefined {
  const below = b * b - t * t * bb
  if (!(a > 0 && b > 0 && below > 0)) return undefined
  const middle = a * b - t * t * ab
  const reach = Math.sqrt(Math.max(0, middle * middle - below * (a * a - t * t * aa)))
  return [percent(Math.max(0, (middle - reach) / below)), percent((middle + reach) / below)]
}

/** Student's test of the difference and Fieller's interval of the ratio, which say the same. */
function compared(upper: readonly number[], lower: readonly number[], paired: boolean) {
  const digit = lastDigit([...upper, ...lower])
  const [a, b] = [meanOf(upper), meanOf(lower)]
  const ofMean = (values: readonly number[]): number =>
    Math.max(varianceOf(values) / values.length, isCoarse(values, digit) ? digit ** 2 / 12 : 0)
  if (!paired) {
    const [aa, bb] = [ofMean(upper), ofMean(lower)]
    const test = welchTest(upper, lower, [aa, bb])
    return { test, interval: test && fieller({ a, b, aa, bb, ab: 0 }, tQuantile(0.975, test.degreesOfFreedom)) }
  }
  const differences = upper.map((value, index) => value - (lower[index] as number))
  const least = isCoarse(differences, digit) ? digit ** 2 / 6 : 0
  const test = pairedTest(upper, lower, least)
  const [aa, bb] = [upper, lower].map(values => varianceOf(values) / values.length) as [number, number]
  const ofDifference = varianceOf(differences) / differences.length
  const more = Math.max(0, least - ofDifference) / 2
  const means = { a, b, aa: aa + more, bb: bb + more, ab: (aa + bb - ofDifference) / 2 }
  return { test, interval: test && fieller(means, tQuantile(0.975, test.degreesOfFreedom)) }
}

function verdictOf(p: number | undefined, gainPct: number): GainVerdict {
  if (p === undefined) return 'too-few'
  if (p >= CHANCE) return 'not-shown'
  return gainPct > 0 ? 'better' : 'worse'
}

/**
 * The gain of the second set of scores over the first. Interval, p and verdict are of one test, and agree. Scores that are
 * all the same count as known to their last digit, d/√12 (JCGM 100:2008, 4.3.7), however many there are.
 */
export function gainOf(baseline: readonly number[], scores: readonly number[], options: GainOptions): Gain {
  const [upper, lower] = options.better === 'higher' ? [scores, baseline] : [baseline, scores]
  const paired = options.pairing === 'paired' && scores.length === baseline.length
  const { test, interval } = compared(upper, lower, paired)
  const gainPct = percent(meanOf(upper) / meanOf(lower))
  const digit = lastDigit([...upper, ...lower])
  return {
    n: scores.length,
    mean: meanOf(scores),
    sd: Math.sqrt(varianceOf(scores)),
    gainPct,
    intervalPct: interval,
    p: test?.p,
    method: test === undefined ? 'none' : paired ? 'paired' : 'welch',
    verdict: verdictOf(test?.p, gainPct),
    coarse: test !== undefined && [upper, lower].some(set => isCoarse(set, digit)),
  }
}
