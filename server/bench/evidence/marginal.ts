/** What is known of the proof voltage at one ratio: its distribution for each σ, and what follows from it. */
import { REFERENCE_S } from './hazard.ts'
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
  const { offset, square } = spread
  return {
    ratio,
    statedV,
    meanV: statedV + offset,
    standardUncertaintyV: Math.sqrt(Math.max(0, square - offset * offset)),
    probability: enough(statedV),
    enough,
    holds: (comparableV, forS) =>
      parts.reduce((sum, { sharpnessV, share, weights }) => {
        const lowestV = firstV - proofSharpnesses * sharpnessV
        let holding = 0
        for (let at = 0; at < weights.length; at++) {
          const exponent = (lowestV + at * STEP_V - comparableV) / sharpnessV
          holding += (weights[at] as number) * Math.exp((-forS / REFERENCE_S) * Math.exp(exponent))
        }
        return sum + share * holding
      }, 0),
  }
}

/** The weight of so many cells from the first, the last of them in part. */
function below(weights: Float64Array, cells: number): number {
  const whole = Math.min(weights.length, Math.max(0, Math.floor(cells)))
  let sum = 0
  for (let at = 0; at < whole; at++) sum += weights[at] as number
  return whole < weights.length && cells > 0 ? sum + (cells - whole) * (weights[whole] as number) : sum
}
