/** What is taken for likely before any trial: the stated voltages with their spread, and the grid that they are weighed on. */

/** A row of `needs` as the part states it. */
export interface StatedRow {
  readonly ratio: number
  readonly voltageV: number
}

/** Prior of a row: the stated voltage with this standard uncertainty. Engineering judgement, as all four. */
export const PRIOR_SPREAD_V = 0.025
/** Rows this many ratio-steps of 1x apart are correlated by 1/e. */
const CORRELATION_RATIO = 20
const SHARPNESS_MEDIAN_V = 0.005
const SHARPNESS_FACTOR = 1.7

const SHARPNESS_COUNT = 21
const SHARPNESS_REACH = 3.2

/** The grid's step. */
export const STEP_V = 0.002
const LEAST_REACH_V = 0.13
/** Beyond a trial, how far the grid goes on: past it a hold or a stop is a matter of course. */
const BEYOND_TRIAL_V = 0.06
/** Steps of the prior further out than this many standard deviations weigh nothing that a double would show. */
const BAND = 9

/** Voltages of one row: `firstV` and on by `STEP_V`; the stated one is in the middle. */
export interface Grid {
  readonly statedV: number
  readonly firstV: number
  readonly count: number
}

/** One σ of the prior, with the logarithm of its weight. */
export interface PriorSharpness {
  readonly sharpnessV: number
  readonly logPrior: number
}

/** The prior's σ: evenly spread over its logarithm. */
export const priorSharpnesses: readonly PriorSharpness[] = Array.from({ length: SHARPNESS_COUNT }, (_, at) => {
  const z = ((2 * at) / (SHARPNESS_COUNT - 1) - 1) * SHARPNESS_REACH
  return { sharpnessV: SHARPNESS_MEDIAN_V * Math.exp(z * Math.log(SHARPNESS_FACTOR)), logPrior: -(z * z) / 2 }
})

/** @param furthestV how far a trial's voltage lies from the stated line at most */
export function gridOf({ voltageV }: StatedRow, furthestV: number): Grid {
  // A trial far from every row says as much at the end of the grid as beyond it.
  const reach = Math.min(Math.max(LEAST_REACH_V, furthestV + BEYOND_TRIAL_V), 3 * LEAST_REACH_V)
  const half = Math.ceil(reach / STEP_V)
  return { statedV: voltageV, firstV: voltageV - half * STEP_V, count: 2 * half + 1 }
}

/** The prior of the first row, as logarithms over its grid. */
export function firstPrior({ count }: Grid): Float64Array {
  const middle = (count - 1) / 2
  return Float64Array.from({ length: count }, (_, at) => -((((at - middle) * STEP_V) / PRIOR_SPREAD_V) ** 2) / 2)
}

/**
 * The prior's step from one row to the next: normal given the row, zero where the voltage would fall with the ratio.
 * Weights of `to` given `from` stand in rows of `to.count`; beyond `first` and `last` (exclusive) of a row they are zero.
 */
export interface PriorStep {
  readonly weights: Float64Array
  readonly first: Int32Array
  readonly last: Int32Array
}

export function priorStep(from: Grid, to: Grid, ratios: number): PriorStep {
  const correlation = Math.exp(-Math.abs(ratios) / CORRELATION_RATIO)
  // Rows closer than the grid can show are the same row.
  const spread = Math.max(STEP_V / 2, PRIOR_SPREAD_V * Math.sqrt(1 - correlation * correlation))
  const weights = new Float64Array(from.count * to.count)
  const [first, last] = [new Int32Array(from.count), new Int32Array(from.count)]
  for (let a = 0; a < from.count; a++) {
    const fromV = from.firstV + a * STEP_V
    const expectedAt = (to.statedV + correlation * (fromV - from.statedV) - to.firstV) / STEP_V
    const band = (BAND * spread) / STEP_V
    const rising = (fromV - 1e-9 - to.firstV) / STEP_V
    const low = Math.min(to.count, Math.max(0, Math.ceil(Math.max(rising, expectedAt - band))))
    const high = Math.max(low, Math.min(to.count, Math.floor(expectedAt + band) + 1))
    first[a] = low
    last[a] = high
    for (let b = low; b < high; b++) {
      const z = ((b - expectedAt) * STEP_V) / spread
      weights[a * to.count + b] = Math.exp(-(z * z) / 2)
    }
  }
  return { weights, first, last }
}
