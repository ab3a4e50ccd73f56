/**
 * Singular values by one-sided rotations of the columns (M. R. Hestenes, "Inversion of matrices by biorthogonalization and
 * related results", J. SIAM 6, 1958; cited from memory): small matrices, and small singular values as exact as large ones.
 */

export interface SingularValues {
  /** The largest first. */
  readonly singular: readonly number[]
  /** Left and right singular vectors, one for each singular value; a left one is of zeros where the value is zero. */
  readonly left: readonly Float64Array[]
  readonly right: readonly Float64Array[]
}

const MOST_SWEEPS = 60

function inner(a: Float64Array, b: Float64Array): number {
  let sum = 0
  for (let row = 0; row < a.length; row++) sum += (a[row] as number) * (b[row] as number)
  return sum
}

function rotate(a: Float64Array, b: Float64Array, cosine: number, sine: number): void {
  for (let row = 0; row < a.length; row++) {
    const [one, other] = [a[row] as number, b[row] as number]
    a[row] = cosine * one - sine * other
    b[row] = sine * one + cosine * other
  }
}

/** @param columns of a matrix with at least as many rows; they are left as they are */
export function singularValues(columns: readonly Float64Array[]): SingularValues {
  const count = columns.length
  const left = columns.map(column => column.slice())
  const right = columns.map((_, index) => Float64Array.from({ length: count }, (__, row) => (row === index ? 1 : 0)))
  for (let sweep = 0, turned = true; turned && sweep < MOST_SWEEPS; sweep++) {
    turned = false
    for (let p = 0; p < count; p++) {
      for (let q = p + 1; q < count; q++) {
        const [a, b] = [left[p] as Float64Array, left[q] as Float64Array]
        const [alpha, beta, gamma] = [inner(a, a), inner(b, b), inner(a, b)]
        if (Math.abs(gamma) <= 1e-15 * Math.sqrt(alpha * beta)) continue
        const half = (beta - alpha) / (2 * gamma)
        const tangent = (half < 0 ? -1 : 1) / (Math.abs(half) + Math.hypot(1, half))
        const cosine = 1 / Math.hypot(1, tangent)
        rotate(a, b, cosine, cosine * tangent)
        rotate(right[p] as Float64Array, right[q] as Float64Array, cosine, cosine * tangent)
        turned = true
      }
    }
  }
  const norms = left.map(column => Math.sqrt(inner(column, column)))
  const order = norms.map((_, index) => index).sort((a, b) => (norms[b] as number) - (norms[a] as number))
  return {
    singular: order.map(index => norms[index] as number),
    left: order.map(index => (left[index] as Float64Array).map(value => value / (norms[index] || 1))),
    right: order.map(index => right[index] as Float64Array),
  }
}
