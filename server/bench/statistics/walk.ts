/** A seeded walk through a posterior: spreads, intervals and correlations from itself and not from its curvature. */

import { seededUniform, standardNormals } from '../../model/random.ts'
import { factor, inverseOf, solveUpper } from './cholesky.ts'
import type { Objective } from './descent.ts'
import type { Slices } from './independent.ts'

const STEPS = 8000
/** One in so many steps is kept as a draw. */
const THIN = 8
const BURN_IN = 800

/** How far to walk. */
export interface WalkOptions {
  readonly seed?: number
  /** 0 for no walk: then mean and covariance are those of the curvature, and there are no draws. */
  readonly steps?: number
}

export interface Walk {
  /** Standardised, all steps' sums and the kept ones. */
  readonly mean: Float64Array
  readonly covariance: Float64Array
  readonly draws: readonly Float64Array[]
}

/** The reference is wider than the curvature says by this, so that the walk reaches the tails. */
const WIDER = 1.15
/** Steps that keep the law of the curvature: across the whole posterior, and half of it. */
const KEEPING = [1, 0.55]
/** Plain steps, which find the way back from tails that the curvature does not describe, as shares of the best length for a normal law. */
const PLAIN = [1, 0.4, 2.2]
/** Of a plain step in one dimension (G. O. Roberts and J. S. Rosenthal, Statistical Science 16, 2001; cited from memory). */
const BEST_LENGTH = 2.38

const squareOf = (xi: Float64Array): number => xi.reduce((sum, one) => sum + one * one, 0)

/**
 * A Metropolis walk of two kinds of steps in turn. Some keep the normal law of the curvature by themselves, so that only what
 * differs from it decides whether one is taken (the preconditioned Crank–Nicolson proposal: S. L. Cotter, G. O. Roberts, A. M.
 * Stuart and D. White, Statistical Science 28, 2013); in a tail that is wider than that law they stick, and plain steps do
 * not. Where a quick objective stands for an exact one, every few steps together are taken or not by what is exact (J. A.
 * Christen and C. Fox, J. Comput. Graph. Stat. 14, 2005). Both cited from memory.
 * @param exactAt undefined where `objectiveAt` is exact
 */
export function* walkOf(
  objectiveAt: Objective,
  mode: ArrayLike<number>,
  precision: Float64Array,
  { seed = 1, steps = STEPS }: WalkOptions,
  exactAt?: Objective,
): Slices<Walk> {
  const n = mode.length
  const mean = new Float64Array(n)
  const covariance = new Float64Array(n * n)
  if (n === 0) return { mean, covariance, draws: Array.from({ length: Math.floor(steps / THIN) }, () => mean) }
  const shape = Float64Array.from(precision)
  if (!factor(shape, n)) throw new RangeError('the curvature of a posterior is not positive')
  if (steps === 0) return { mean: Float64Array.from(mode), covariance: inverseOf(shape, n), draws: [] }
  const uniform = seededUniform(seed)
  const normal = standardNormals(uniform)
  let [own, next] = [new Float64Array(n), new Float64Array(n)]
  const at = new Float64Array(n)
  /** The objective where it was looked at last, and where the walk is. */
  let [looked, objective] = [0, 0]
  /** What decides: the objective without the part that the reference stands for. */
  const excessOf = function* (xi: Float64Array): Slices<number> {
    at.set(xi)
    solveUpper(shape, n, at)
    let square = 0
    for (let i = 0; i < n; i++) {
      square += (xi[i] as number) ** 2
      at[i] = (mode[i] as number) + Math.sqrt(WIDER) * (at[i] as number)
    }
    looked = yield* objectiveAt(at)
    return looked - square
  }
  let excess = yield* excessOf(own)
  objective = looked
  const here = Float64Array.from(at)
  /** Where the last stretch of quick steps began: what is exact less what is quick decides whether all of it is taken. */
  const start = {
    own: Float64Array.from(own),
    here: Float64Array.from(at),
    excess,
    objective,
    beyond: exactAt ? (yield* exactAt(at)) - objective : 0,
  }
  const judged = function* (): Slices<void> {
    if (exactAt === undefined) return
    const beyond = (yield* exactAt(here)) - objective
    if (Math.log(uniform()) < (start.beyond - beyond) / 2) {
      start.own.set(own)
      start.here.set(here)
      start.excess = excess
      start.objective = objective
      start.beyond = beyond
    } else {
      own.set(start.own)
      here.set(start.here)
      excess = start.excess
      objective = start.objective
    }
  }
  let count = 0
  const draws: Float64Array[] = []
  for (let step = -BURN_IN; step < steps; step++) {
    const turn = (step + BURN_IN) % (KEEPING.length + PLAIN.length)
    const plain = PLAIN[turn - KEEPING.length]
    const length = plain === undefined ? (KEEPING[turn] as number) : (plain * BEST_LENGTH) / Math.sqrt(n)
    const keep = plain === undefined ? Math.sqrt(1 - length * length) : 1
    for (let i = 0; i < n; i++) next[i] = keep * (own[i] as number) + length * normal()
    const tried = yield* excessOf(next)
    const gain = excess - tried + (plain === undefined ? 0 : squareOf(own) - squareOf(next))
    if (Math.log(uniform()) < gain / 2) {
      ;[own, next] = [next, own]
      excess = tried
      objective = looked
      here.set(at)
    }
    if (step % THIN !== 0) continue
    yield* judged()
    yield
    if (step < 0) continue
    count++
    draws.push(Float64Array.from(here))
    for (let i = 0; i < n; i++) {
      const by = (here[i] as number) - (mode[i] as number)
      mean[i] = (mean[i] as number) + by
      for (let j = 0; j <= i; j++)
        covariance[i * n + j] = (covariance[i * n + j] as number) + by * ((here[j] as number) - (mode[j] as number))
    }
  }
  for (let i = 0; i < n; i++) mean[i] = (mean[i] as number) / count
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      const value = (covariance[i * n + j] as number) / count - (mean[i] as number) * (mean[j] as number)
      covariance[i * n + j] = covariance[j * n + i] = value
    }
  for (let i = 0; i < n; i++) mean[i] = (mean[i] as number) + (mode[i] as number)
  return { mean, covariance, draws }
}
