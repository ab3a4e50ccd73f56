import normalQuantile from '@stdlib/stats-base-dists-normal-quantile'
import { normalShareBelow, seededUniform } from '../../model/random.ts'

/** Intervals without any law for the spread, by drawing the figures again from themselves. */

export interface BootstrapOptions {
  /** How often the figures are drawn again; 10,000 unless said otherwise. */
  readonly resamples?: number
  readonly seed?: number
  /** Share that the interval covers; 0.95 unless said otherwise. */
  readonly level?: number
}

export interface BootstrapInterval {
  readonly value: number
  /** Bias-corrected and accelerated. */
  readonly interval: readonly [low: number, high: number]
  /** The plain percentiles, for comparison. */
  readonly percentile: readonly [low: number, high: number]
  readonly standardUncertainty: number
  readonly acceleration: number
  readonly bias: number
  /**
   * The share that the widest interval of this kind without a value leaves out: below 0.05 the 95 % interval does not
   * have it. No smaller than the number of draws can tell.
   */
  readonly pOf: (value: number) => number
}

const RESAMPLES = 10_000
const SEED = 19_870_301

/** Linear interpolation between the sorted values, as R's default has it. */
function quantileOf(sorted: Float64Array, share: number): number {
  const at = share * (sorted.length - 1)
  const low = Math.floor(at)
  const from = sorted[low] as number
  const to = sorted[Math.min(low + 1, sorted.length - 1)] as number
  return from + (to - from) * (at - low)
}

/**
 * How fast the statistic's spread changes with its value: Σl³/n³ over 6·(Σl²/n²)^1.5 with the jackknife's influence
 * values l of every set. For one set this is Efron's acceleration, Σ(m − mᵢ)³ / 6(Σ(m − mᵢ)²)^1.5.
 */
function accelerationOf(sets: readonly (readonly number[])[], statistic: Statistic): number {
  let cubes = 0
  let squares = 0
  sets.forEach((set, which) => {
    const without = set.map((_, left) =>
      statistic(sets.map((own, index) => (index === which ? own.filter((__, at) => at !== left) : own))),
    )
    const middle = without.reduce((sum, value) => sum + value, 0) / without.length
    const weight = (set.length - 1) / set.length
    for (const value of without) {
      const influence = weight * (middle - value)
      squares += influence ** 2
      cubes += influence ** 3
    }
  })
  return squares === 0 ? 0 : cubes / (6 * squares ** 1.5)
}

/** A figure read off one or more sets of values. */
export type Statistic = (sets: readonly (readonly number[])[]) => number

/**
 * The BCa interval of a statistic (B. Efron, "Better bootstrap confidence intervals", J. Am. Stat. Assoc. 82, 1987).
 * Every set is drawn again from itself, so that sets of unlike spread stay so. The same seed gives the same interval.
 *
 * @returns undefined where a set has fewer than two values
 */
export function bootstrapInterval(
  sets: readonly (readonly number[])[],
  statistic: Statistic,
  options: BootstrapOptions = {},
): BootstrapInterval | undefined {
  if (sets.length === 0 || sets.some(set => set.length < 2)) return undefined
  const { resamples = RESAMPLES, seed = SEED, level = 0.95 } = options
  const uniform = seededUniform(seed)
  const value = statistic(sets)
  const drawn = sets.map(set => set.slice())
  const found = new Float64Array(resamples)
  let below = 0
  for (let round = 0; round < resamples; round++) {
    sets.forEach((set, which) => {
      const own = drawn[which] as number[]
      for (let index = 0; index < own.length; index++) own[index] = set[Math.floor(uniform() * set.length)] as number
    })
    const one = statistic(drawn)
    found[round] = one
    // Ties count half, so that a statistic with few values is not thrown to one side.
    below += one < value ? 1 : one === value ? 0.5 : 0
  }
  found.sort()
  const bias = normalQuantile(Math.min(1 - 0.5 / resamples, Math.max(0.5 / resamples, below / resamples)), 0, 1)
  const acceleration = accelerationOf(sets, statistic)
  const adjusted = (share: number): number => {
    const z = bias + normalQuantile(share, 0, 1)
    return quantileOf(found, normalShareBelow(bias + z / (1 - acceleration * z)))
  }
  const tail = (1 - level) / 2
  const mean = found.reduce((sum, one) => sum + one, 0) / resamples
  const squares = found.reduce((sum, one) => sum + (one - mean) ** 2, 0)
  return {
    value,
    interval: [adjusted(tail), adjusted(1 - tail)],
    percentile: [quantileOf(found, tail), quantileOf(found, 1 - tail)],
    standardUncertainty: Math.sqrt(squares / (resamples - 1)),
    acceleration,
    bias,
    pOf: other => {
      const under = found.reduce((sum, one) => sum + (one < other ? 1 : one === other ? 0.5 : 0), 0)
      const share = Math.min(1 - 0.5 / resamples, Math.max(0.5 / resamples, under / resamples))
      // The inverse of `adjusted`.
      const w = normalQuantile(share, 0, 1) - bias
      const z = w / Math.max(1 + acceleration * w, 1e-9) - bias
      return Math.min(1, Math.max(1 / resamples, 2 * Math.min(normalShareBelow(z), normalShareBelow(-z))))
    },
  }
}
