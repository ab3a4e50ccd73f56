/** Means and spreads of plain numbers, without loss where the mean is large against the spread. */

/** Sum of numbers with Neumaier's compensation, so that a long log loses no digits. */
function sumOf(values: ArrayLike<number>): number {
  let sum = 0
  let lost = 0
  for (let index = 0; index < values.length; index++) {
    const value = values[index] as number
    const next = sum + value
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum
    sum = next
  }
  return sum + lost
}

/** Arithmetic mean; NaN for no values. */
export function meanOf(values: ArrayLike<number>): number {
  return sumOf(values) / values.length
}

/**
 * The upper of the two middle values where their number is even, so that it is always one of the values; undefined for
 * none.
 */
export function upperMedianOf(values: readonly number[]): number | undefined {
  return values.toSorted((a, b) => a - b)[values.length >> 1]
}

/** The standard deviation of an even law, as a share of its width. */
export const EVEN_DEVIATION = 1 / Math.sqrt(12)

/** Standard deviations of a normal law in the median of its absolute deviations: 1/Φ⁻¹(3/4). */
export const SD_PER_MEDIAN_DEVIATION = 1.4826

/** Variance with n − 1 below the line, in two passes with the correction of Chan, Golub and LeVeque; NaN for fewer than two. */
export function varianceOf(values: ArrayLike<number>, mean: number = meanOf(values)): number {
  const n = values.length
  if (n < 2) return Number.NaN
  let squares = 0
  let rest = 0
  for (let index = 0; index < n; index++) {
    const from = (values[index] as number) - mean
    squares += from * from
    rest += from
  }
  return (squares - (rest * rest) / n) / (n - 1)
}

/** Standard deviation with n − 1; NaN for fewer than two values. */
export function deviationOf(values: ArrayLike<number>): number {
  return Math.sqrt(varianceOf(values))
}

/** Autocorrelation at one lag: Σ(xᵢ − m)(xᵢ₊ₖ − m) / Σ(xᵢ − m)², as NIST's handbook has it. 0 where nothing varies. */
export function autocorrelationAt(values: ArrayLike<number>, lag: number, mean: number = meanOf(values)): number {
  let own = 0
  let shifted = 0
  for (let index = 0; index < values.length; index++) {
    const from = (values[index] as number) - mean
    own += from * from
    if (index + lag < values.length) shifted += from * ((values[index + lag] as number) - mean)
  }
  return own === 0 ? 0 : shifted / own
}
