/** How likely a trial is to hold, or to stop when it did, at a constant rate of failure (exponential survival). */

/** How a trial at one voltage ended. */
export type TrialEnd =
  | { readonly kind: 'held'; readonly forS: number }
  | { readonly kind: 'stopped'; readonly afterS: number }

/** A stop is noted to the minute. */
export const STOP_KNOWN_TO_S = 60

/**
 * Natural logarithm of the likelihood of a trial's end. A stop is known to an interval, not to an instant: its
 * likelihood is the share that fails within the last interval, exp(−λ(t − Δ)) − exp(−λt), and within the first one
 * 1 − exp(−λΔ). The density λ·exp(−λt) would read a crash at once as certainty of a rate.
 * @param ratePerS failures a second, above zero
 * @param knownToS Δ
 * @see Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data: censoring on the right and in intervals
 */
export function logLikelihoodOfEnd(end: TrialEnd, ratePerS: number, knownToS: number = STOP_KNOWN_TO_S): number {
  if (end.kind === 'held') return -ratePerS * end.forS
  const within = Math.log(-Math.expm1(-ratePerS * knownToS))
  return end.afterS <= knownToS ? within : within - ratePerS * (end.afterS - knownToS)
}
