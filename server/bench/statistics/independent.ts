/** Evidence of unknown constants, and its residuals made independent with their derivatives. */

import { factor, solveLower } from './cholesky.ts'

export interface Unknown {
  /** Before any evidence: normal, with this mean and standard deviation. */
  readonly mean: number
  readonly sd: number
  /** It stays at its mean; its uncertainty is carried to the others to first order. */
  readonly held?: true
}

/** Residuals that are correlated with each other and with no others: those of one run, or of one point that was seen. */
export interface Evidence {
  readonly size: number
  /** Indices of the unknowns that the residuals depend on. */
  readonly unknowns: readonly number[]
  /** The residuals take long to find: the walk may use a series of second order in their place where both agree. */
  readonly isSlow?: true
  /** Measured less expected, at some values of all unknowns; false where the model says nothing there. */
  residuals(at: ArrayLike<number>, out: Float64Array): boolean
  /** Finds in slices what their covariance at some values rests on, where that takes long. */
  prepare?(at: ArrayLike<number>): Slices<void>
  /**
   * Until the scatter changes, residuals are reckoned about what these residuals and this factor of their covariance make
   * likeliest of the errors that they share.
   */
  centreAt?(at: ArrayLike<number>, factor: Float64Array): void
  /** Their covariance at some values, row by row. */
  covariance(at: ArrayLike<number>, out: Float64Array): void
}

const DIFFERENCE = 1e-4

export interface Whitened {
  readonly evidence: Evidence
  /** Lower factor of the covariance. */
  readonly factor: Float64Array
  readonly z: Float64Array
}

/**
 * Puts the factor of a covariance of residuals in its place; a residual without any error gets next to none, so that the
 * factor exists.
 * @returns false where there is none all the same
 */
export function factorCovariance(a: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) a[i * n + i] = (a[i * n + i] as number) * (1 + 1e-10) + 1e-18
  return factor(a, n)
}

/** The same in slices. */
export function* whitenedInSlices(evidence: Evidence, at: ArrayLike<number>, into?: Whitened): Slices<Whitened> {
  yield* evidence.prepare?.(at) ?? []
  return whitened(evidence, at, into)
}

/** The covariance at these values, factored. */
function whitened(evidence: Evidence, at: ArrayLike<number>, into?: Whitened): Whitened {
  const n = evidence.size
  const own = into ?? { evidence, factor: new Float64Array(n * n), z: new Float64Array(n) }
  evidence.covariance(at, own.factor)
  if (!factorCovariance(own.factor, n)) throw new RangeError('a covariance of residuals is not positive')
  evidence.centreAt?.(at, own.factor)
  return own
}

export function zAt({ evidence, factor: l, z }: Whitened, at: ArrayLike<number>): boolean {
  if (!evidence.residuals(at, z)) return false
  solveLower(l, evidence.size, z)
  return true
}

/** Work in slices: at each place where it may pause, what is slow was looked at twice at the most. */
export type Slices<T> = Generator<undefined, T>

/** Derivatives of the independent residuals over the standardised unknowns: one column for each that the evidence has. */
export function* columns(own: Whitened, unknowns: readonly Unknown[], at: Float64Array): Slices<Float64Array[]> {
  const moved = Float64Array.from(at)
  const found: Float64Array[] = []
  for (const index of own.evidence.unknowns) {
    found.push(columnOf(own, unknowns, at, moved, index))
    if (own.evidence.isSlow) yield
  }
  return found
}

function columnOf(
  own: Whitened,
  unknowns: readonly Unknown[],
  at: Float64Array,
  moved: Float64Array,
  index: number,
): Float64Array {
  const { sd } = unknowns[index] as Unknown
  const width = DIFFERENCE * sd
  const centre = at[index] as number
  moved[index] = centre + width
  const isAbove = zAt(own, moved)
  const above = Float64Array.from(own.z)
  moved[index] = centre - width
  const isBelow = zAt(own, moved)
  const below = Float64Array.from(own.z)
  moved[index] = centre
  if (isAbove && isBelow) return above.map((value, row) => (value - (below[row] as number)) / (2 * DIFFERENCE))
  // Where the model says nothing on one side the other serves; on neither, nothing is known.
  if (!isAbove && !isBelow) return new Float64Array(above.length)
  zAt(own, moved)
  const sign = isAbove ? 1 : -1
  return (isAbove ? above : below).map((value, row) => (sign * (value - (own.z[row] as number))) / DIFFERENCE)
}
