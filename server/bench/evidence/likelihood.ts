/** The joint likelihood of all trials at one ratio, over the voltage that this ratio needs. */
import { BACKGROUND_PER_S, failuresPerS, LARGEST_EXPONENT, REFERENCE_S, type VoltageTrial } from './hazard.ts'
import { logLikelihoodOfEnd, STOP_KNOWN_TO_S, type TrialEnd } from './survival.ts'

/** The last minute of a stop; the time before it is in the sum of all. */
const lastMinute: TrialEnd = { kind: 'stopped', afterS: STOP_KNOWN_TO_S }

/** Trials at one ratio, summed up for one σ. */
export type LogLikelihood = (middleV: number) => number

/**
 * The logarithm of the likelihood of all trials at one ratio, as a function of μ there. What was survived adds up to one
 * term, −Σ λ(V)·t, since λ of any voltage is λ of another times a constant; what stopped has a term of its own each.
 * It is the sum of `logLikelihoodOfEnd` at `failuresPerS`.
 * @param sharpnessV σ
 */
export function logLikelihoodAt(trials: readonly VoltageTrial[], sharpnessV: number): LogLikelihood {
  const lowestV = trials.reduce((least, { comparableV }) => Math.min(least, comparableV), Number.POSITIVE_INFINITY)
  let weighedS = 0
  let survivedS = 0
  const stopsV: number[] = []
  for (const { comparableV, end } of trials) {
    const timeS = end.kind === 'held' ? end.forS : Math.max(0, end.afterS - STOP_KNOWN_TO_S)
    weighedS += timeS * Math.exp((lowestV - comparableV) / sharpnessV)
    survivedS += timeS
    if (end.kind === 'stopped') stopsV.push(comparableV)
  }
  return middleV => {
    const exponent = (middleV - lowestV) / sharpnessV
    let log = (-weighedS * Math.exp(Math.min(exponent, LARGEST_EXPONENT))) / REFERENCE_S - BACKGROUND_PER_S * survivedS
    for (const stopV of stopsV) log += logLikelihoodOfEnd(lastMinute, failuresPerS(stopV - middleV, sharpnessV))
    return log
  }
}
