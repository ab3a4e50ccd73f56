/** What is known of the proof voltage at one ratio: its distribution for each σ, and what follows from it. */
import { BACKGROUND_PER_S, REFERENCE_S } from './hazard.ts'
import { STEP_V } from './prior.ts'

/** A distribution over voltages `firstV` and on by `STEP_V`, each with the σ that it goes with. */
export interface OfSharpness {
  readonly sharpnessV: number
  readonly share: number
  /** Adds up to one. */
  readonly weights: Float64Array
}

export interface RowPosterior {
  readonly ratio: number
  /** As the part states it, straight between two rows. */
  readonly statedV: number
  /** Of the proof voltage. */
  readonly meanV: number
  readonly standardUncertaintyV: number
  /** That the stated voltage is enough for the proof. */
  readonly probability: number
  /** How probable it is that a voltage is enough for the proof. */
  enough(comparableV: number): number
  /** How probable it is that a load holds for a time at a voltage; stops that are not the voltage's aside. */
  holds(comparableV: number, forS: number): number
  /** Of the rate at which a load stops at a voltage, the share that is not the voltage's. */
  background(comparableV: number): number
}

/**
 * @param spread mean and mean square of the voltage less `statedV`
 * @param proofSharpnesses how many σ the proof voltage lies above μ
 */
export function rowPosterior(
  ratio: number,
  statedV: number,
  firstV: number,
  spread: { readonly offset: number; readonly square: number },
  parts: readonly OfSharpness[],
  proofSharpnesses: number,
): RowPosterior {
  const enough = (comparableV: number): number => {
    // A voltage within a cell has that part of it below itself.
    const cells = (comparableV - firstV) / STEP_V + 0.5
    return parts.reduce((sum, { share, weights }) => sum + share * below(weights, cells), 0)
  }
  /** The mean of what follows from the rate of failures at a voltage, the background aside. */
  const mean = (comparableV: number, of: (ratePerS: number) => number): number =>
    parts.reduce((total, { sharpnessV, share, weights }) => {
      const lowest = firstV - proofSharpnesses * sharpnessV - comparableV
      let sum = 0
      for (let at = 0; at < weights.length; at++)
        sum += (weights[at] as number) * of(Math.exp((lowest + at * STEP_V) / sharpnessV) / REFERENCE_S)
      return total + share * sum
    }, 0)
  const { offset, square } = spread
  return {
    ratio,
    statedV,
    meanV: statedV + offset,
    standardUncertaintyV: Math.sqrt(Math.max(0, square - offset * offset)),
    probability: enough(statedV),
    enough,
    holds: (comparableV, forS) => mean(comparableV, ratePerS => Math.exp(-forS * ratePerS)),
    background: comparableV => mean(comparableV, ratePerS => BACKGROUND_PER_S / (BACKGROUND_PER_S + ratePerS)),
  }
}

/** The weight of so many cells from the first, the last of them in part. */
function below(weights: Float64Array, cells: number): number {
  const whole = Math.min(weights.length, Math.max(0, Math.floor(cells)))
  let sum = 0
  for (let at = 0; at < whole; at++) sum += weights[at] as number
  return whole < weights.length && cells > 0 ? sum + (cells - whole) * (weights[whole] as number) : sum
}
