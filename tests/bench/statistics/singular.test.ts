import fc from 'fast-check'
import { Matrix, SingularValueDecomposition } from 'ml-matrix'
import { describe, expect, it } from 'vitest'
import { singularValues } from '../../../server/bench/statistics/singular.ts'

const columnsOf = (rows: readonly (readonly number[])[]): Float64Array[] =>
  (rows[0] ?? []).map((_, column) => Float64Array.from(rows, row => row[column] as number))

describe('singular values', () => {
  it('are those of a library, largest first, and their vectors make up the matrix', () => {
    // No numbers whose squares are nothing: the library is wrong there.
    const number = fc.integer({ min: -1_000_000, max: 1_000_000 }).map(value => value / 1000)
    const matrices = fc.tuple(fc.integer({ min: 1, max: 7 }), fc.integer({ min: 0, max: 12 })).chain(([wide, more]) =>
      fc.array(fc.array(number, { minLength: wide, maxLength: wide }), {
        minLength: wide + more,
        maxLength: wide + more,
      }),
    )
    fc.assert(
      fc.property(matrices, rows => {
        const { singular, left, right } = singularValues(columnsOf(rows))
        const expected = new SingularValueDecomposition(new Matrix(rows.map(row => [...row]))).diagonal
        const most = 1e-12 * Math.max(...expected, 1e-3)
        expect(singular).toEqual([...singular].sort((a, b) => b - a))
        for (const [k, value] of singular.entries()) {
          expect(Math.abs(value - (expected[k] as number))).toBeLessThan(most)
        }
        for (const [i, row] of rows.entries()) {
          for (const [j, value] of row.entries()) {
            const made = singular.reduce((sum, one, k) => sum + (left[k]?.[i] ?? 0) * one * (right[k]?.[j] ?? 0), 0)
            expect(Math.abs(made - value)).toBeLessThan(most)
          }
        }
      }),
      { numRuns: 300 },
    )
  })

  it('are exact where one column is next to nothing', () => {
    // diag(1, 1e-12) turned by 0.3 on the right.
    const [c, s] = [Math.cos(0.3), Math.sin(0.3)]
    const { singular } = singularValues(
      columnsOf([
        [c, -s],
        [1e-12 * s, 1e-12 * c],
      ]),
    )
    expect(singular[0]).toBeCloseTo(1, 14)
    expect((singular[1] ?? 0) / 1e-12).toBeCloseTo(1, 3)
  })
})
