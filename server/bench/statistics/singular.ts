/** Singular values of small matrices, from the library, in the form that least squares reads them. */
import { Matrix, SingularValueDecomposition } from 'ml-matrix'

export interface SingularValues {
  /** The largest first. */
  readonly singular: readonly number[]
  /** Left and right singular vectors, one for each singular value. */
  readonly left: readonly (readonly number[])[]
  readonly right: readonly (readonly number[])[]
}

/** Beside the largest number one below this share changes no digit, and the library takes false turns over its square. */
const NEGLIGIBLE = 1e-100

/** @param rows of a matrix with at least as many rows as columns; they are left as they are */
export function singularValues(rows: readonly (readonly number[])[]): SingularValues {
  const width = rows[0]?.length ?? 0
  if (width === 0) return { singular: [], left: [], right: [] }
  const largest = rows.reduce((most, row) => row.reduce((own, value) => Math.max(own, Math.abs(value)), most), 0)
  const heard = rows.map(row => row.map(value => (Math.abs(value) < largest * NEGLIGIBLE ? 0 : value)))
  const found = new SingularValueDecomposition(new Matrix(heard))
  const vectors = (matrix: Matrix) => Array.from({ length: width }, (_, column) => matrix.getColumn(column))
  return {
    singular: found.diagonal,
    left: vectors(found.leftSingularVectors),
    right: vectors(found.rightSingularVectors),
  }
}
