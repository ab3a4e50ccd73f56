/** The one root finder of the model: Newton's steps inside a bracket. */

/** Value of a function and, where it is known, its slope; NaN where it is not. Filled again at each call. */
export interface Sought {
  value: number
  slope: number
}

/** Rounds after which the bracket has to be half as wide as before, or the value a quarter; else it is halved. */
const PATIENCE = 3
/** Halving every `PATIENCE` + 1 rounds, so many come closer than doubles can tell apart. */
const ROUNDS = 4 * 64
/** A step this small, in parts of 1 + |x|, is not worth another look. */
const ROOT_TOLERANCE = 4e-15

/**
 * A root of a function that is ≤ 0 at `low` and > 0 at `high`.
 *
 * Order: with slopes Newton's, 2; without them false position with the stale end's value halved (Illinois), 1.44. A
 * step out of the bracket, or too many that hardly narrow it and hardly come nearer, give way to halving; no call takes
 * more than 256. Neither end is evaluated.
 *
 * @param at puts value and slope at x into its second argument
 * @param start where to look first, inside the bracket
 * @param tolerance on x, in parts of 1 + |x|
 */
export function rootBetween(
  at: (x: number, out: Sought) => void,
  low: number,
  high: number,
  start: number,
  tolerance = ROOT_TOLERANCE,
): number {
  const out: Sought = { value: Number.NaN, slope: Number.NaN }
  let lowValue = Number.NaN
  let highValue = Number.NaN
  let x = start
  let side = 0
  let width = high - low
  let size = Number.POSITIVE_INFINITY
  let patience = PATIENCE
  for (let round = 0; round < ROUNDS; round++) {
    at(x, out)
    const { value, slope } = out
    if (value === 0) return x
    if (value <= 0) {
      low = x
      lowValue = value
      if (side < 0) highValue /= 2
      side = -1
    } else {
      high = x
      highValue = value
      if (side > 0) lowValue /= 2
      side = 1
    }
    if (high - low <= tolerance * (1 + Math.abs(x))) return x
    let next = slope > 0 ? x - value / slope : low + (lowValue / (lowValue - highValue)) * (high - low)
    if (Math.abs(next - x) <= tolerance * (1 + Math.abs(x))) return slope > 0 ? Math.min(high, Math.max(low, next)) : x
    // Newton's steps come from one side: their values tell that they arrive, long before the other end moves.
    if (high - low <= width / 2 || Math.abs(value) <= size / 4) {
      width = high - low
      size = Math.abs(value)
      patience = PATIENCE
    } else patience--
    if (!(next > low && next < high) || patience === 0) {
      next = low + (high - low) / 2
      if (!(next > low && next < high)) return x
      width = high - low
      patience = PATIENCE
    }
    x = next
  }
  return x
}
