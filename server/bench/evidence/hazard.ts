/**
 * The rate at which a part fails for lack of voltage: steep and log-linear in the voltage, with a floor of stops that
 * are not the voltage's.
 */
import type { Proof } from '../../semantic/proof.ts'
import type { TrialEnd } from './survival.ts'

/** One trial, brought to the temperature and kind of load that the part's needs are stated for. */
export interface VoltageTrial {
  readonly ratio: number
  /** Die voltage less what temperature and vector work ask for on top: V − slope·(T − T_needs) − vector-needs. */
  readonly comparableV: number
  readonly end: TrialEnd
}

/** Stops that are not the voltage's: one in 200 hours. Engineering judgement, no source. */
export const BACKGROUND_PER_S = 1 / (200 * 3600)

/** The voltage whose rate is one failure an hour is where the exponent is zero. */
export const REFERENCE_S = 3600
/** Beyond this exponent a trial fails within its first microsecond; more would overflow. */
export const LARGEST_EXPONENT = 40

/**
 * Failures a second at a voltage: λ = (1/3600 s)·exp(−(V − μ)/σ) + λ₀.
 * @param marginV V − μ
 * @param sharpnessV σ
 */
export function failuresPerS(marginV: number, sharpnessV: number): number {
  return Math.exp(Math.min(LARGEST_EXPONENT, -marginV / sharpnessV)) / REFERENCE_S + BACKGROUND_PER_S
}

/**
 * How many σ above μ a voltage holds for the proof's time with the proof's probability, λ₀ aside:
 * ln(t/3600 s) − ln(−ln p); 2.970 for 95 % and one hour.
 */
export function sharpnessesAbove({ probability, forS }: Proof): number {
  return Math.log(forS / REFERENCE_S) - Math.log(-Math.log(probability))
}
