/** A series of second order about the likeliest values in place of slow evidence, where both agree. */

import { seededUniform, standardNormals } from '../../model/random.ts'
import { factor, inverseOf, solveUpper } from './cholesky.ts'
import type { Objective } from './descent.ts'
import { type Slices, type Unknown, type Whitened, zAt } from './independent.ts'
import { loss } from './robust.ts'

const TRIALS = 12
/** A series may have twice the log-likelihood wrong by this, the root of the mean square over the posterior. Judgement. */
const SERIES_AGREES = 0.6

/** The objective with series in place of slow evidence, where both agree. */
export function* quickObjective(
  unknowns: readonly Unknown[],
  free: readonly number[],
  parts: readonly Whitened[],
  mode: Float64Array,
  precision: Float64Array,
  exact: Objective,
): Slices<Objective> {
  if (!parts.some(({ evidence }) => evidence.isSlow)) return exact
  const n = free.length
  const shape = Float64Array.from(precision)
  if (!factor(shape, n)) return exact
  const inverse = inverseOf(shape, n)
  const spreads = new Float64Array(mode.length)
  free.forEach((index, column) => {
    spreads[index] = (unknowns[index] as Unknown).sd * Math.sqrt(inverse[column * n + column] as number)
  })
  const normal = standardNormals(seededUniform(11))
  const trials = Array.from({ length: TRIALS }, () => {
    const by = Float64Array.from(free, () => normal())
    solveUpper(shape, n, by)
    const at = Float64Array.from(mode)
    free.forEach((index, column) => {
      at[index] = (mode[index] as number) + (unknowns[index] as Unknown).sd * (by[column] as number)
    })
    return at
  })
  const lossOf = (z: Float64Array): number => z.reduce((sum, one) => sum + loss(one), 0)
  const all: (Series | undefined)[] = []
  for (const part of parts) {
    const own = part.evidence.isSlow ? yield* seriesOf(part, mode, spreads) : undefined
    all.push(own)
    if (own === undefined) continue
    let squares = 0
    for (const at of trials) {
      own.zAt(at, part.z)
      const quick = lossOf(part.z)
      squares += zAt(part, at) ? (quick - lossOf(part.z)) ** 2 : Number.POSITIVE_INFINITY
      yield
    }
    if (!(squares < TRIALS * SERIES_AGREES ** 2)) all[all.length - 1] = undefined
  }
  const at = Float64Array.from(mode)
  return function* (standard) {
    let sum = 0
    free.forEach((index, column) => {
      const own = standard[column] as number
      sum += own * own
      const { mean, sd } = unknowns[index] as Unknown
      at[index] = mean + sd * own
    })
    for (let index = 0; index < parts.length; index++) {
      const part = parts[index] as Whitened
      const quick = all[index]
      if (quick !== undefined) quick.zAt(at, part.z)
      else {
        if (!zAt(part, at)) return Number.POSITIVE_INFINITY
        if (part.evidence.isSlow) yield
      }
      for (let row = 0; row < part.z.length; row++) sum += loss(part.z[row] as number)
    }
    return sum
  }
}

interface Series {
  zAt(at: ArrayLike<number>, out: Float64Array): void
}

/** Curvature that changes the residuals by less than this, squared and summed, counts as zero. */
const NEGLIGIBLE = 2e-3

/** Second order about the mode, by differences as wide as the posterior; undefined where the model says nothing so far off. */
function* seriesOf(part: Whitened, mode: Float64Array, spreads: Float64Array): Slices<Series | undefined> {
  const dims = part.evidence.unknowns.filter(index => (spreads[index] as number) > 0)
  const size = part.evidence.size
  const at = Float64Array.from(mode)
  const look = (...moves: readonly (readonly [index: number, by: number])[]): Float64Array | undefined => {
    for (const [index, by] of moves) at[index] = (mode[index] as number) + by * (spreads[index] as number)
    const isThere = zAt(part, at)
    for (const [index] of moves) at[index] = mode[index] as number
    return isThere ? Float64Array.from(part.z) : undefined
  }
  const centre = look()
  if (centre === undefined) return undefined
  const ups: (Float64Array | undefined)[] = []
  const downs: (Float64Array | undefined)[] = []
  for (const index of dims) {
    ups.push(look([index, 1]))
    downs.push(look([index, -1]))
    yield
  }
  /** Coefficients: for each dimension the slope, then for each pair the curvature. */
  const rows: Float64Array[] = []
  for (let i = 0; i < dims.length; i++) {
    const [up, down] = [ups[i], downs[i]]
    if (up === undefined || down === undefined) return undefined
    rows.push(up.map((value, row) => (value - (down[row] as number)) / 2))
  }
  for (let i = 0; i < dims.length; i++) {
    const [up, down] = [ups[i] as Float64Array, downs[i] as Float64Array]
    for (let j = 0; j <= i; j++) {
      if (i === j) {
        rows.push(up.map((value, row) => (value + (down[row] as number)) / 2 - (centre[row] as number)))
        continue
      }
      const both = look([dims[i] as number, 1], [dims[j] as number, 1])
      yield
      if (both === undefined) return undefined
      const other = ups[j] as Float64Array
      rows.push(
        both.map((value, row) => value - (up[row] as number) - (other[row] as number) + (centre[row] as number)),
      )
    }
  }
  // Most pairs have nothing to do with each other.
  const kept = rows.map((row, index) => {
    const square = row.reduce((sum, value) => sum + value * value, 0)
    return square > (index < dims.length ? 1e-8 : NEGLIGIBLE)
  })
  return {
    zAt: (from, out) => {
      out.set(centre)
      const by = dims.map(index => ((from[index] as number) - (mode[index] as number)) / (spreads[index] as number))
      let term = 0
      const put = (weight: number): void => {
        const own = term++
        if (!kept[own]) return
        const row = rows[own] as Float64Array
        for (let at = 0; at < size; at++) out[at] = (out[at] as number) + weight * (row[at] as number)
      }
      for (const value of by) put(value)
      for (let i = 0; i < by.length; i++) for (let j = 0; j <= i; j++) put((by[i] as number) * (by[j] as number))
    },
  }
}
