/** The posterior of unknown constants: likeliest values, spreads and draws. */

import { seededUniform, standardNormals } from '../../model/random.ts'
import { finished } from '../../model/slices.ts'
import { descend, heldResponse, type Objective, type Response, ROUGH, STILL, slopes } from './descent.ts'
import { type Evidence, type Slices, type Unknown, type Whitened, whitenedInSlices, zAt } from './independent.ts'
import { quickObjective } from './quick-objective.ts'
import { loss } from './robust.ts'
import { type Walk, type WalkOptions, walkOf } from './walk.ts'

/**
 * What evidence says of unknown constants: twice the negative logarithm of their posterior is
 *
 *   Σ over constants ((x − x₀)/s)² + Σ over residuals ρ(z)
 *
 * with ρ of `robust.ts` and z the residuals of a piece of evidence made independent by their covariance. That covariance
 * depends on the constants through the readings that residuals share; it is held while the constants move and found again
 * until both agree (the effective variance: J. Orear, Am. J. Phys. 50, 1982; cited from memory). Spreads, intervals and
 * correlations come from the posterior itself by a seeded walk.
 */

export interface Posterior {
  /** The likeliest values, held ones at their means. */
  readonly mode: Float64Array
  readonly mean: Float64Array
  /** Row by row. */
  readonly covariance: Float64Array
  /** Correlated draws in the order of the walk, thinned. */
  readonly draws: readonly Float64Array[]
  /** Of each piece of evidence: its residuals at the mode, made independent. */
  readonly independent: ReadonlyMap<Evidence, Float64Array>
  /** Twice the negative logarithm at the mode. */
  readonly objective: number
}

export interface PosteriorOptions extends WalkOptions {
  /** Where the likeliest values are looked for first; the means without it. */
  readonly start?: ArrayLike<number>
  /** The likeliest values are not looked for: those of `start` count. */
  readonly isFixed?: true
  /** To a tenth of a standard deviation: for a round that others follow. */
  readonly isRough?: true
}

const COVARIANCE_ROUNDS = 8
const ROUGH_ROUNDS = 2
/** Covariances agree with the constants where those move by less than this share of their prior spread. */
const AGREES = 3e-3

/** @returns undefined where the model says nothing at the means */
export const posteriorOf = (...given: Parameters<typeof posteriorInSlices>): Posterior | undefined =>
  finished(posteriorInSlices(...given))

/** The same, a few looks at what is slow at a time. */
export function* posteriorInSlices(
  unknowns: readonly Unknown[],
  all: readonly Evidence[],
  options: PosteriorOptions = {},
): Slices<Posterior | undefined> {
  const free = unknowns.flatMap(({ held, sd }, index) => (held || !(sd > 0) ? [] : [index]))
  const place = new Map(free.map((index, column) => [index, column]))
  const evidence = all.filter(({ size }) => size > 0)
  const at = Float64Array.from(unknowns, ({ mean }) => mean)
  const values = (standard: ArrayLike<number>): Float64Array => {
    free.forEach((index, column) => {
      const { mean, sd } = unknowns[index] as Unknown
      at[index] = mean + sd * (standard[column] as number)
    })
    return at
  }
  let standard: Float64Array = Float64Array.from(free, index => {
    const { mean, sd } = unknowns[index] as Unknown
    return ((options.start?.[index] ?? mean) - mean) / sd
  })
  const parts: Whitened[] = []
  for (const one of evidence) parts.push(yield* whitenedInSlices(one, values(standard)))
  const objectiveAt: Objective = function* (from) {
    let sum = 0
    for (let column = 0; column < free.length; column++) sum += (from[column] as number) ** 2
    const here = values(from)
    for (const part of parts) {
      if (!zAt(part, here)) return Number.POSITIVE_INFINITY
      for (let row = 0; row < part.z.length; row++) sum += loss(part.z[row] as number)
      if (part.evidence.isSlow) yield
    }
    return sum
  }
  if (!Number.isFinite(yield* objectiveAt(standard))) return undefined
  const rounds = options.isFixed ? 0 : options.isRough ? ROUGH_ROUNDS : COVARIANCE_ROUNDS
  for (let round = 0; round < rounds; round++) {
    const found = yield* descend(
      objectiveAt,
      standard,
      from => slopes(unknowns, free, place, parts, values(from), from),
      options.isRough ? ROUGH : STILL,
    )
    const moved = found.reduce(
      (most, value, column) => Math.max(most, Math.abs(value - (standard[column] as number))),
      0,
    )
    standard = found
    if (moved < AGREES) break
    for (const part of parts) {
      yield* whitenedInSlices(part.evidence, values(standard), part)
      yield
    }
  }
  const mode = Float64Array.from(values(standard))
  const { matrix: precision } = yield* slopes(unknowns, free, place, parts, mode, standard)
  const response = yield* heldResponse(unknowns, place, parts, mode, precision)
  for (const part of parts) {
    zAt(part, mode)
    yield
  }
  const independent = new Map(parts.map(({ evidence: own, z }) => [own, Float64Array.from(z)]))
  const quick =
    options.steps === 0 ? objectiveAt : yield* quickObjective(unknowns, free, parts, mode, precision, objectiveAt)
  const walk = yield* walkOf(quick, standard, precision, options, quick === objectiveAt ? undefined : objectiveAt)
  const carried = seededUniform((options.seed ?? 1) + 7919)
  const normals = standardNormals(carried)
  const whole = (drawn: Float64Array): Float64Array => {
    const full = Float64Array.from(unknowns, ({ mean, sd, held }) => (held ? mean + sd * normals() : mean))
    free.forEach((index, column) => {
      const { mean, sd } = unknowns[index] as Unknown
      let by = drawn[column] as number
      response.forEach(({ index: of, by: own }) => {
        const { mean: centre, sd: spread } = unknowns[of] as Unknown
        by += (own[column] as number) * (((full[of] as number) - centre) / spread)
      })
      full[index] = mean + sd * by
    })
    return full
  }
  const draws = walk.draws.map(whole)
  return {
    mode,
    ...moments(unknowns, free, walk, response),
    draws,
    independent,
    objective: yield* objectiveAt(standard),
  }
}

/** Mean and covariance of all unknowns, in their own scale. */
function moments(
  unknowns: readonly Unknown[],
  free: readonly number[],
  walk: Walk,
  response: readonly Response[],
): Pick<Posterior, 'mean' | 'covariance'> {
  const n = unknowns.length
  const mean = Float64Array.from(unknowns, one => one.mean)
  const covariance = new Float64Array(n * n)
  const spread = (index: number): number => unknowns[index]?.sd ?? 0
  free.forEach((first, i) => {
    mean[first] = (mean[first] as number) + spread(first) * (walk.mean[i] as number)
    free.forEach((second, j) => {
      const carried = response.reduce((sum, { by }) => sum + (by[i] as number) * (by[j] as number), 0)
      covariance[first * n + second] =
        spread(first) * spread(second) * ((walk.covariance[i * free.length + j] as number) + carried)
    })
    for (const { index, by } of response) {
      covariance[first * n + index] = covariance[index * n + first] = spread(first) * spread(index) * (by[i] as number)
    }
  })
  for (const { index } of response) covariance[index * n + index] = spread(index) ** 2
  return { mean, covariance }
}
