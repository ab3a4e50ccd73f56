/**
 * Uncertainty of the predicted figures from that of the bench's constants (model section 11): first-order
 * propagation (JCGM 100:2008, section 5), and seeded sampling where a level of the ladder changes inside the
 * interval, so that no straight line describes the figure (JCGM 101:2008).
 */

import type { Settled } from './types.ts'

/** A constant's standard uncertainty, in the order of the shifts handed to the model. */
export interface Spread {
  /** Standard uncertainties of the constants. */
  readonly standard: readonly number[]
  /** Correlation coefficients, row by row; the constants are independent without it. */
  readonly correlation?: readonly (readonly number[])[]
}

/** What the model gives when each constant is moved by its shift; null where nothing can be settled. */
export type Shifted = (shifts: readonly number[]) => Settled | null

/** A figure read off a settled result; null where it does not exist, as on runaway. */
export type FigureOf = (settled: Settled) => number | null

export interface Interval {
  /** The figure at the constants as stated. */
  readonly value: number | null
  /** Null where samples ran away or the figure does not exist. */
  readonly standardUncertainty: number | null
  /** Ends of the 95 % interval; null where an end does not exist. */
  readonly low: number | null
  readonly high: number | null
  readonly method: 'first-order' | 'sampling'
}

export interface Propagation {
  readonly method: 'first-order' | 'sampling'
  interval(figure: FigureOf): Interval
  /** The probability that the settled result passes; a result without figures does not exist for `passes` and counts as failed. */
  probability(figure: FigureOf, side: '>=' | '<=', limit: number): number
}

/** Coverage factor of a 95 % interval of a normal distribution. */
const COVERAGE = 1.959963984540054
const SAMPLES = 1000
const SEED = 20_240_229

/** A small generator of uniform numbers in (0, 1) that gives the same row for the same seed everywhere. */
export function seededUniform(seed: number): () => number {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return (((mixed ^ (mixed >>> 14)) >>> 0) + 0.5) / 4294967296
  }
}

/** Standard normal numbers after Box and Muller, one from each pair of uniform ones. */
export function seededNormal(seed: number): () => number {
  const uniform = seededUniform(seed)
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform())
}

/** The normal distribution function, by the complementary error function (Numerical Recipes' rational form, 1.2e-7). */
export function normalShareBelow(z: number): number {
  const t = 1 / (1 + Math.abs(z) / Math.SQRT2 / 2)
  const x = z / Math.SQRT2
  const series =
    -1.26551223 +
    t *
      (1.00002368 +
        t *
          (0.37409196 +
            t *
              (0.09678418 +
                t *
                  (-0.18628806 +
                    t * (0.27886807 + t * (-1.13520398 + t * (1.48851587 + t * (-0.82215223 + t * 0.17087277))))))))
  const tail = (t * Math.exp(-x * x + series)) / 2
  return z >= 0 ? 1 - tail : tail
}

function cholesky(correlation: readonly (readonly number[])[]): number[][] {
  const n = correlation.length
  const factor = Array.from({ length: n }, () => new Array<number>(n).fill(0))
  for (let row = 0; row < n; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = correlation[row]?.[column] ?? 0
      for (let k = 0; k < column; k++) sum -= (factor[row]?.[k] ?? 0) * (factor[column]?.[k] ?? 0)
      const own = factor[row] as number[]
      own[column] = row === column ? Math.sqrt(Math.max(0, sum)) : sum / ((factor[column]?.[column] ?? 0) || 1)
    }
  }
  return factor
}

const shape = (settled: Settled | null): string =>
  settled === null ? 'none' : `${settled.state} ${settled.limiter} ${settled.ratioLow} ${settled.ratioHigh}`

/** So many samples a slice: a few milliseconds. */
const SLICE = 8

/**
 * Carries the constants' uncertainty through the model, a few milliseconds at a time.
 * The model is called twice for each constant, and `SAMPLES` times where a level changes within two standard
 * uncertainties of any constant, or along the direction that moves the die temperature or the clock most.
 */
export function* propagateInSlices(model: Shifted, spread: Spread): Generator<undefined, Propagation> {
  const { standard } = spread
  const n = standard.length
  const nominal = model(new Array<number>(n).fill(0))
  const usual = shape(nominal)
  const shifted = (index: number, by: number): Settled | null =>
    model(standard.map((sd, at) => (at === index ? by * sd : 0)))
  const pairs = standard.map((_, index) => [shifted(index, 1), shifted(index, -1)] as const)
  yield
  const slopesOf = (figure: FigureOf): number[] =>
    pairs.map(([above, below]) => {
      const high = above === null ? null : figure(above)
      const low = below === null ? null : figure(below)
      return high === null || low === null ? Number.NaN : (high - low) / 2
    })
  const togetherOf = (i: number, j: number): number => (i === j ? 1 : (spread.correlation?.[i]?.[j] ?? 0))
  const varianceOf = (slopes: readonly number[]): number => {
    let sum = 0
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < n; j++) {
        sum += togetherOf(i, j) * (slopes[i] as number) * (slopes[j] as number)
      }
    }
    return Math.max(0, sum)
  }
  const alongSteepest = (figure: FigureOf): (Settled | null)[] => {
    const slopes = slopesOf(figure)
    const size = Math.sqrt(varianceOf(slopes))
    if (!(size > 0)) return []
    // Where constants are correlated the likeliest way to a far value moves the others along.
    const towards = slopes.map((_, i) => slopes.reduce((sum, slope, j) => sum + togetherOf(i, j) * slope, 0))
    return [2, -2].map(by => model(standard.map((sd, at) => (by * sd * (towards[at] as number)) / size)))
  }
  const looks = [
    ...pairs.flat(),
    ...standard.flatMap((_, index) => [shifted(index, 2), shifted(index, -2)]),
    ...alongSteepest(settled => settled.dieC),
    ...alongSteepest(settled => settled.clockMhz),
  ]
  const straight = nominal !== null && looks.every(settled => shape(settled) === usual)
  if (straight) return firstOrder(nominal, slopesOf, varianceOf)
  yield
  return yield* sampled(nominal, model, spread)
}

function firstOrder(
  nominal: Settled,
  slopesOf: (figure: FigureOf) => number[],
  varianceOf: (slopes: readonly number[]) => number,
): Propagation {
  const uncertaintyOf = (figure: FigureOf): number => Math.sqrt(varianceOf(slopesOf(figure)))
  return {
    method: 'first-order',
    interval: figure => {
      const value = figure(nominal)
      const u = value === null ? Number.NaN : uncertaintyOf(figure)
      if (value === null || Number.isNaN(u))
        return { value, standardUncertainty: null, low: null, high: null, method: 'first-order' }
      return {
        value,
        standardUncertainty: u,
        low: value - COVERAGE * u,
        high: value + COVERAGE * u,
        method: 'first-order',
      }
    },
    probability: (figure, side, limit) => {
      const value = figure(nominal)
      if (value === null) return 0
      const gap = side === '>=' ? value - limit : limit - value
      const u = uncertaintyOf(figure)
      return u > 0 ? normalShareBelow(gap / u) : gap >= 0 ? 1 : 0
    },
  }
}

function* sampled(nominal: Settled | null, model: Shifted, spread: Spread): Generator<undefined, Propagation> {
  const { standard, correlation } = spread
  const normal = seededNormal(SEED)
  const factor = correlation === undefined ? undefined : cholesky(correlation)
  const results: (Settled | null)[] = []
  for (let sample = 0; sample < SAMPLES; sample++) {
    const draws = standard.map(() => normal())
    const shifts = standard.map((sd, row) => {
      if (factor === undefined) return sd * (draws[row] as number)
      let sum = 0
      for (let column = 0; column <= row; column++) sum += (factor[row]?.[column] ?? 0) * (draws[column] as number)
      return sd * sum
    })
    results.push(model(shifts))
    if (sample % SLICE === 0) yield
  }
  const valuesOf = (figure: FigureOf): (number | null)[] =>
    results.map(settled => (settled === null ? null : figure(settled)))
  return {
    method: 'sampling',
    interval: figure => {
      const value = nominal === null ? null : figure(nominal)
      const values = valuesOf(figure)
      const finite = values.filter(one => one !== null).sort((a, b) => a - b)
      if (finite.length < SAMPLES || finite.length < 2) {
        // Some samples have no figure at all: their interval has no end that could be stated.
        return { value, standardUncertainty: null, low: null, high: null, method: 'sampling' }
      }
      const mean = finite.reduce((sum, one) => sum + one, 0) / finite.length
      const variance = finite.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (finite.length - 1)
      const at = (share: number): number =>
        finite[Math.min(finite.length - 1, Math.floor(share * finite.length))] as number
      return { value, standardUncertainty: Math.sqrt(variance), low: at(0.025), high: at(0.975), method: 'sampling' }
    },
    probability: (figure, side, limit) => {
      const passed = valuesOf(figure).filter(one => one !== null && (side === '>=' ? one >= limit : one <= limit))
      return passed.length / SAMPLES
    },
  }
}
