import { bootstrapInterval } from './bootstrap.ts'
import { meanOf, varianceOf } from './moments.ts'
import { tQuantile } from './t-distribution.ts'
import { pairedTest, type TTest, welchFreedom, welchTest } from './t-tests.ts'

/** How much better one set of scores is than another, in percent, and whether that is more than noise. */

export type Better = 'higher' | 'lower'

export type GainMethod = 'welch' | 'paired' | 'bootstrap' | 'none'

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
  /** 95 %; undefined where there are too few scores. */
  readonly intervalPct: readonly [low: number, high: number] | undefined
  readonly p: number | undefined
  readonly method: GainMethod
  readonly verdict: GainVerdict
  readonly tIntervalPct: readonly [low: number, high: number] | undefined
  /** Only where each set has ten scores or more: with fewer it is too narrow. */
  readonly bootstrapPct: readonly [low: number, high: number] | undefined
}

export interface GainOptions {
  readonly better: Better
  /** The scores belong together one by one: the same evening, the same order. */
  readonly pairing?: 'paired' | 'independent'
  readonly seed?: number
}

/** With fewer scores on either side than this the bootstrap is too narrow, and Welch's interval counts. */
export const BOOTSTRAP_FROM = 10

type Interval = readonly [low: number, high: number]

function percent(ratio: number): number {
  return 100 * (ratio - 1)
}

/**
 * Interval of a ratio of two independent means by first-order propagation (JCGM 100:2008, 5.1) with Welch's degrees of
 * freedom for the two relative variances.
 */
function ratioInterval(upper: readonly number[], lower: readonly number[]): Interval {
  const [top, bottom] = [meanOf(upper), meanOf(lower)]
  const relative = (values: readonly number[], mean: number): number => varianceOf(values) / values.length / mean ** 2
  const [a, b] = [relative(upper, top), relative(lower, bottom)]
  const ratio = top / bottom
  const spread = Math.sqrt(a + b)
  const freedom = welchFreedom(a, upper.length, b, lower.length)
  const reach = spread === 0 ? 0 : Math.abs(ratio) * tQuantile(0.975, freedom) * spread
  return [percent(ratio - reach), percent(ratio + reach)]
}

/** Interval of the ratio of paired scores: Student's t on the logarithms, which turn ratios into differences. */
function pairedInterval(upper: readonly number[], lower: readonly number[]): Interval | undefined {
  if (![...upper, ...lower].every(value => value > 0)) return undefined
  const test = pairedTest(upper.map(Math.log), lower.map(Math.log))
  return test && [percent(Math.exp(test.interval[0])), percent(Math.exp(test.interval[1]))]
}

function verdictOf(test: TTest | undefined, interval: Interval | undefined): GainVerdict {
  if (test === undefined || interval === undefined) return 'too-few'
  if (interval[0] > 0) return 'better'
  return interval[1] < 0 ? 'worse' : 'not-shown'
}

/**
 * The gain of the second set of scores over the first.
 * With pairs it is Student's paired t; else Welch's t, and the bootstrap where each set has ten scores or more.
 */
export function gainOf(baseline: readonly number[], scores: readonly number[], options: GainOptions): Gain {
  const [upper, lower] = options.better === 'higher' ? [scores, baseline] : [baseline, scores]
  const mean = meanOf(scores)
  const paired = options.pairing === 'paired' && scores.length === baseline.length
  const test = paired ? pairedTest(upper, lower) : welchTest(upper, lower)
  const ratio = (sets: readonly (readonly number[])[]): number => percent(meanOf(sets[0] ?? []) / meanOf(sets[1] ?? []))
  const tIntervalPct =
    test === undefined ? undefined : paired ? pairedInterval(upper, lower) : ratioInterval(upper, lower)
  const enough = Math.min(scores.length, baseline.length) >= BOOTSTRAP_FROM
  const seeded = options.seed === undefined ? {} : { seed: options.seed }
  const bootstrapPct = enough && !paired ? bootstrapInterval([upper, lower], ratio, seeded)?.interval : undefined
  const byBootstrap = bootstrapPct !== undefined
  const intervalPct = byBootstrap ? bootstrapPct : tIntervalPct
  return {
    n: scores.length,
    mean,
    sd: Math.sqrt(varianceOf(scores)),
    gainPct: ratio([upper, lower]),
    intervalPct,
    p: test?.p,
    method: intervalPct === undefined ? 'none' : paired ? 'paired' : byBootstrap ? 'bootstrap' : 'welch',
    verdict: verdictOf(test, intervalPct),
    tIntervalPct,
    bootstrapPct,
  }
}
