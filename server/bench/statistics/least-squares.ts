/**
 * Nonlinear least squares by Levenberg and Marquardt with Moré's scaling (J. J. Moré, "The Levenberg–Marquardt
 * algorithm: implementation and theory", Lecture Notes in Mathematics 630, 1978; cited from memory). Each Jacobian is
 * decomposed once by singular values, so that every damping is tried at the price of a product.
 */

import { type SingularValues, singularValues } from './singular.ts'

export interface Problem {
  /** Residuals at these parameters, each divided by its standard uncertainty if weights are wanted; undefined where the model says nothing. */
  readonly residuals: (parameters: readonly number[]) => ArrayLike<number> | undefined
  /** Rows of derivatives of the residuals; central differences without it. */
  readonly jacobian?: (parameters: readonly number[]) => readonly ArrayLike<number>[]
}

export interface FitOptions {
  readonly maxIterations?: number
  /** Usual sizes of the parameters; those of the start without it. */
  readonly sizes?: readonly number[]
}

export interface LeastSquares {
  readonly parameters: readonly number[]
  /** One standard uncertainty of each, scaled by the residuals' spread; NaN without degrees of freedom. */
  readonly standardUncertainties: readonly number[]
  /** Correlation coefficients, row by row. */
  readonly correlation: readonly (readonly number[])[]
  readonly residuals: readonly number[]
  readonly sumOfSquares: number
  readonly degreesOfFreedom: number
  /** √(sum of squares / degrees of freedom). */
  readonly residualSd: number
  /** Rows of derivatives at the solution. */
  readonly jacobian: readonly Float64Array[]
  readonly iterations: number
  readonly converged: boolean
}

const MAX_ITERATIONS = 500
/** A step or a gain below this share changes no printed digit. */
const STILL = 1e-14
/** The cube root of the spacing of doubles, where the errors of a central difference balance. */
const DIFFERENCE = 6e-6

function squaresOf(values: ArrayLike<number>): number {
  let sum = 0
  for (let index = 0; index < values.length; index++) sum += (values[index] as number) ** 2
  return sum
}

/** Rows of derivatives by central differences; one-sided where the model says nothing on the other side. */
function differences(
  problem: Problem,
  at: readonly number[],
  own: ArrayLike<number>,
  sizes: readonly number[],
): Float64Array[] {
  const rows = Array.from({ length: own.length }, () => new Float64Array(at.length))
  at.forEach((value, column) => {
    // One that went to next to nothing is moved by a share of what it was, else nothing would seem to depend on it.
    const step = DIFFERENCE * (Math.max(Math.abs(value), 1e-4 * Math.abs(sizes[column] as number)) || 1)
    const moved = (by: number): ArrayLike<number> | undefined =>
      problem.residuals(at.map((other, index) => (index === column ? value + by : other)))
    const above = moved(step)
    const below = moved(-step)
    const width = (above === undefined ? 0 : step) + (below === undefined ? 0 : step)
    for (let row = 0; row < own.length; row++) {
      const high = above === undefined ? (own[row] as number) : (above[row] as number)
      const low = below === undefined ? (own[row] as number) : (below[row] as number)
      ;(rows[row] as Float64Array)[column] = width === 0 ? 0 : (high - low) / width
    }
  })
  return rows
}

export interface Decomposed extends SingularValues {
  /** Norms of the columns, by which they were divided. */
  readonly scale: readonly number[]
}

/** Singular values of a Jacobian whose columns are brought to these norms; a column of zeros keeps them. */
export function decompose(rows: readonly ArrayLike<number>[], scale: readonly number[]): Decomposed {
  // A short fat matrix is filled up with rows of zeros, which change nothing.
  const height = Math.max(rows.length, scale.length)
  const filled = Array.from({ length: height }, (_, row) =>
    scale.map((norm, column) => (rows[row]?.[column] ?? 0) / norm),
  )
  return { scale, ...singularValues(filled) }
}

/** Euclidean norms of the columns; 1 for a column of zeros. */
export function columnNorms(rows: readonly ArrayLike<number>[], count: number): number[] {
  return Array.from(
    { length: count },
    (_, column) => Math.sqrt(rows.reduce((sum, row) => sum + (row[column] as number) ** 2, 0)) || 1,
  )
}

/** The damped step −(JᵀJ + λD²)⁻¹Jᵀr. */
function dampedStep({ scale, singular, right, left }: Decomposed, residuals: ArrayLike<number>, damping: number) {
  const step = scale.map(() => 0)
  singular.forEach((value, k) => {
    let along = 0
    for (let row = 0; row < residuals.length; row++) along += (left[k]?.[row] as number) * (residuals[row] as number)
    const size = (value * along) / (value * value + damping || Number.POSITIVE_INFINITY)
    scale.forEach((norm, column) => {
      step[column] = (step[column] as number) - (size * (right[k]?.[column] as number)) / norm
    })
  })
  return step
}

/** The inverse of JᵀJ from the decomposition; infinite along directions that the data say nothing about. */
function inverseNormal({ scale, singular, right }: Decomposed): number[][] {
  const largest = Math.max(...singular)
  return scale.map((a, i) =>
    scale.map((b, j) => {
      let sum = 0
      singular.forEach((value, k) => {
        const part = (right[k]?.[i] as number) * (right[k]?.[j] as number)
        if (value > largest * 1e-14) sum += part / (value * value)
        else if (i === j && Math.abs(part) > 1e-12) sum = Number.POSITIVE_INFINITY
      })
      return sum / (a * b)
    }),
  )
}

/**
 * Finds the parameters with the smallest sum of squared residuals, from a start.
 * @returns undefined where the model says nothing at the start, or where there are fewer residuals than parameters
 */
export function fitLeastSquares(
  problem: Problem,
  start: readonly number[],
  options: FitOptions = {},
): LeastSquares | undefined {
  const first = problem.residuals(start)
  if (first === undefined || first.length < start.length) return undefined
  let residuals: ArrayLike<number> = first
  let parameters = start.slice()
  let cost = squaresOf(residuals)
  let damping = 1e-3
  let raise = 2
  let scale: number[] | undefined
  let converged = start.length === 0 || cost === 0
  let iterations = 0
  const jacobianAt = (at: readonly number[], own: ArrayLike<number>) =>
    problem.jacobian?.(at) ?? differences(problem, at, own, options.sizes ?? start)
  let rows = jacobianAt(parameters, residuals)
  const most = options.maxIterations ?? MAX_ITERATIONS
  while (!converged && iterations < most) {
    const norms = columnNorms(rows, parameters.length)
    const before = scale
    scale = before === undefined ? norms : norms.map((norm, index) => Math.max(norm, before[index] as number))
    const decomposed = decompose(rows, scale)
    let accepted = false
    while (!accepted && !converged && iterations < most) {
      iterations++
      const step = dampedStep(decomposed, residuals, damping)
      const moved = parameters.map((value, index) => value + (step[index] as number))
      const length = Math.sqrt(squaresOf(step.map((value, index) => value * (scale?.[index] ?? 1))))
      const size = Math.sqrt(squaresOf(parameters.map((value, index) => value * (scale?.[index] ?? 1))))
      const tried = problem.residuals(moved)
      const triedCost = tried === undefined ? Number.POSITIVE_INFINITY : squaresOf(tried)
      const foreseen = foreseenGain(rows, residuals, step)
      if (tried !== undefined && triedCost < cost) {
        const share = (cost - triedCost) / foreseen
        converged = cost - triedCost <= STILL * cost && length <= 1e-8 * size
        parameters = moved
        residuals = tried
        cost = triedCost
        damping *= Math.max(1 / 3, 1 - (2 * Math.min(share, 1) - 1) ** 3)
        raise = 2
        accepted = true
        if (cost === 0) converged = true
      } else {
        converged = length <= STILL * size || (foreseen <= STILL * cost && length <= 1e-8 * size)
        damping *= raise
        raise *= 2
        if (!Number.isFinite(damping)) converged = true
      }
    }
    rows = jacobianAt(parameters, residuals)
  }
  return summary(parameters, residuals, cost, rows, iterations, converged)
}

/** By how much the linear model says that a step lowers the sum of squares. */
function foreseenGain(
  rows: readonly ArrayLike<number>[],
  residuals: ArrayLike<number>,
  step: readonly number[],
): number {
  let gain = 0
  rows.forEach((row, index) => {
    let change = 0
    for (let column = 0; column < step.length; column++) change += (row[column] as number) * (step[column] as number)
    gain -= change * (2 * (residuals[index] as number) + change)
  })
  return Math.max(gain, 0)
}

function summary(
  parameters: readonly number[],
  residuals: ArrayLike<number>,
  sumOfSquares: number,
  rows: readonly ArrayLike<number>[],
  iterations: number,
  converged: boolean,
): LeastSquares {
  const count = parameters.length
  const degreesOfFreedom = residuals.length - count
  const residualSd = degreesOfFreedom > 0 ? Math.sqrt(sumOfSquares / degreesOfFreedom) : Number.NaN
  const inverse = count === 0 ? [] : inverseNormal(decompose(rows, columnNorms(rows, count)))
  const own = inverse.map((row, index) => Math.sqrt(row[index] as number))
  return {
    parameters,
    standardUncertainties: own.map(value => value * residualSd),
    correlation: inverse.map((row, i) => row.map((value, j) => value / ((own[i] as number) * (own[j] as number)))),
    residuals: Array.from(residuals),
    sumOfSquares,
    degreesOfFreedom,
    residualSd,
    jacobian: rows.map(row => Float64Array.from(row)),
    iterations,
    converged,
  }
}
