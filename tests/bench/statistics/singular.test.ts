import fc from 'fast-check'
import { Matrix, SingularValueDecomposition } from 'ml-matrix'
import { describe, expect, it } from 'vitest'
import { singularValues } from '../../../server/bench/statistics/singular.ts'

const inner = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((sum, value, index) => sum + value * (b[index] as number), 0)

describe('singular values', () => {
  it('come largest first, with vectors that are square to each other and make up the matrix', () => {
    const number = fc.oneof(
      fc.integer({ min: -1_000_000, max: 1_000_000 }).map(value => value / 1000),
      fc.constantFrom(0, 1e-170, -1e-320, 1e150),
    )
    const matrices = fc.tuple(fc.integer({ min: 1, max: 7 }), fc.integer({ min: 0, max: 12 })).chain(([wide, more]) =>
      fc.array(fc.array(number, { minLength: wide, maxLength: wide }), {
        minLength: wide + more,
        maxLength: wide + more,
      }),
    )
    fc.assert(
      fc.property(matrices, rows => {
        const { singular, left, right } = singularValues(rows)
        const most = 1e-12 * Math.max(...rows.flat().map(Math.abs), 1e-3)
        expect(singular).toEqual([...singular].sort((a, b) => b - a))
        for (const [i, one] of right.entries()) {
          for (const [j, other] of right.entries()) expect(inner(one, other)).toBeCloseTo(i === j ? 1 : 0, 12)
        }
        for (const [i, row] of rows.entries()) {
          for (const [j, value] of row.entries()) {
            const made = singular.reduce((sum, one, k) => sum + (left[k]?.[i] ?? 0) * one * (right[k]?.[j] ?? 0), 0)
            expect(Math.abs(made - value)).toBeLessThanOrEqual(most)
          }
        }
      }),
      { numRuns: 300 },
    )
  })

  it('are exact where one column is next to nothing', () => {
    // diag(1, 1e-12) turned by 0.3 on the right.
    const [c, s] = [Math.cos(0.3), Math.sin(0.3)]
    const { singular } = singularValues([
      [c, -s],
      [1e-12 * s, 1e-12 * c],
    ])
    expect(singular[0]).toBeCloseTo(1, 14)
    expect((singular[1] ?? 0) / 1e-12).toBeCloseTo(1, 3)
  })

  it('leave out what is nothing beside the rest, over which the library goes wrong', () => {
    const rows = [
      [0, 0, 0.001],
      [-1e-320, 0, 0],
      [1e-170, 1e-170, 0],
      [0, -1e-320, 0.001],
    ]
    const largest = Math.SQRT2 * 0.001
    expect(singularValues(rows).singular[0]).toBeCloseTo(largest, 15)
    // Once the library gets this right, `NEGLIGIBLE` can go.
    const {
      leftSingularVectors: left,
      rightSingularVectors: right,
      diagonal,
    } = new SingularValueDecomposition(new Matrix(rows))
    const made = left.mmul(Matrix.diag(diagonal)).mmul(right.transpose())
    expect(Matrix.sub(made, new Matrix(rows)).abs().max()).toBeGreaterThan(1e-8)
  })

  it('end on what is no number', () => {
    const { singular } = singularValues([
      [1, Number.NaN],
      [Number.POSITIVE_INFINITY, 3],
    ])
    expect(singular.some(Number.isNaN)).toBe(true)
    expect(singularValues([]).singular).toEqual([])
  })
})
