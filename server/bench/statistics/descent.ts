/** The likeliest values: down the objective by its slopes, and how it curves there. */

import { factor, solveLower, solveUpper } from './cholesky.ts'
import { columns, type Slices, type Unknown, type Whitened, zAt } from './independent.ts'
import { lossWeight } from './robust.ts'

/** Of half the objective over the standardised unknowns. */
export interface Slopes {
  readonly gradient: Float64Array
  /** Second derivatives, as they are expected for normal errors. */
  readonly matrix: Float64Array
}

export function* slopes(
  unknowns: readonly Unknown[],
  free: readonly number[],
  place: ReadonlyMap<number, number>,
  parts: readonly Whitened[],
  at: Float64Array,
  standard: ArrayLike<number>,
): Slices<Slopes> {
  const n = free.length
  const gradient = Float64Array.from(standard)
  const matrix = new Float64Array(n * n)
  for (let i = 0; i < n; i++) matrix[i * n + i] = 1
  const here = Float64Array.from(at)
  for (const part of parts) {
    const own = yield* columns(part, unknowns, here)
    zAt(part, here)
    const pulls = part.z.map(z => lossWeight(z))
    const weights = part.z.map(expectedWeight)
    part.evidence.unknowns.forEach((first, a) => {
      const i = place.get(first)
      if (i === undefined) return
      gradient[i] = (gradient[i] as number) + weightedProduct(own[a], part.z, pulls)
      for (let b = 0; b <= a; b++) {
        const j = place.get(part.evidence.unknowns[b] as number)
        if (j === undefined) continue
        const by = weightedProduct(own[a], own[b], weights)
        matrix[i * n + j] = (matrix[i * n + j] as number) + by
        if (i !== j) matrix[j * n + i] = (matrix[j * n + i] as number) + by
      }
    })
  }
  return { gradient, matrix }
}

/** Twice the negative logarithm over the standardised unknowns. */
export type Objective = (standard: ArrayLike<number>) => Slices<number>

const DESCENTS = 80
/** The objective has come to rest where it falls by less than this; the rough limit serves a round that others follow. */
export const STILL = 1e-6
export const ROUGH = 0.05

/**
 * To the lowest place of the objective by damped steps (Levenberg and Marquardt). Ours rather than a library's: those we
 * know take plain residuals, and neither a loss nor a prior.
 */
export function* descend(
  objectiveAt: Objective,
  start: Float64Array,
  slopesAt: (standard: ArrayLike<number>) => Slices<Slopes>,
  still: number,
): Slices<Float64Array> {
  const n = start.length
  let own: Float64Array = Float64Array.from(start)
  let cost = yield* objectiveAt(own)
  let damping = 1e-3
  for (let round = 0; round < DESCENTS; round++) {
    const { gradient, matrix } = yield* slopesAt(own)
    let isLower = false
    let gain = 0
    for (let tries = 0; tries < 12 && !isLower; tries++) {
      const damped = Float64Array.from(matrix)
      for (let i = 0; i < n; i++) damped[i * n + i] = (matrix[i * n + i] as number) * (1 + damping)
      const step = Float64Array.from(gradient)
      factor(damped, n)
      solveLower(damped, n, step)
      solveUpper(damped, n, step)
      const next = own.map((value, i) => value - (step[i] as number))
      const tried = yield* objectiveAt(next)
      if (tried < cost) {
        gain = cost - tried
        own = next
        cost = tried
        damping = Math.max(1e-9, damping / 10)
        isLower = true
      } else damping *= 8
    }
    if (!isLower || gain < still) break
  }
  return own
}

function weightedProduct(a: Float64Array | undefined, b: Float64Array | undefined, weights: Float64Array): number {
  let sum = 0
  for (let row = 0; row < weights.length; row++)
    sum += (weights[row] as number) * ((a?.[row] as number) * (b?.[row] as number))
  return sum
}

/** The mean of ρ''/2, half the loss's second derivative, over normal errors. */
export const EXPECTED_WEIGHT = 0.9
/** ρ''/2 itself runs from 1.5 to below 0; its mean keeps the matrix positive, and less for what is far off weighs that down. */
const expectedWeight = (z: number): number => Math.min(EXPECTED_WEIGHT, lossWeight(z))

export interface Response {
  /** The unknown that is held. */
  readonly index: number
  /** By how much each free one, standardised, moves with a standard deviation of it. */
  readonly by: Float64Array
}

/** How the free unknowns follow those that are held: −H⁻¹ Jᵀ W J_held. */
export function* heldResponse(
  unknowns: readonly Unknown[],
  place: ReadonlyMap<number, number>,
  parts: readonly Whitened[],
  mode: Float64Array,
  precision: Float64Array,
): Slices<readonly Response[]> {
  const n = place.size
  const l = Float64Array.from(precision)
  factor(l, n)
  const found: Response[] = []
  for (const [index, { held, sd }] of unknowns.entries()) {
    if (!held || !(sd > 0) || n === 0) continue
    const by = new Float64Array(n)
    for (const part of parts) {
      const at = part.evidence.unknowns.indexOf(index)
      if (at < 0) continue
      const own = yield* columns(part, unknowns, mode)
      zAt(part, mode)
      const weights = part.z.map(expectedWeight)
      part.evidence.unknowns.forEach((other, column) => {
        const i = place.get(other)
        if (i !== undefined) by[i] = (by[i] as number) - weightedProduct(own[column], own[at], weights)
      })
    }
    solveLower(l, n, by)
    solveUpper(l, n, by)
    found.push({ index, by })
  }
  return found
}
