/** How long a log must go on: until its die comes to rest, and until what it settles at is known twice as well. */

import { type LogEvidence, logEvidence } from '../likelihood/log.ts'
import { likeliestErrors } from '../likelihood/whitening.ts'
import type { Unknown } from '../statistics/independent.ts'
import { posteriorOf } from '../statistics/posterior.ts'
import { further } from './further.ts'
import { figuresAt, type LogFit } from './settled.ts'

/** Nobody waits for longer than this; engineering judgement. */
const LONGEST_S = 8 * 3600

/** Further blocks are so long at first, and each so much longer than the one before. */
const FIRST_S = 5
const GROWTH = 1.12

/**
 * How many more seconds of the same load bring the die within `nearK` of where it comes to rest on the fitted bench.
 * Undefined where it cannot be followed.
 */
export function secondsToSettle(fit: LogFit, nearK: number): number | undefined {
  const lengths: number[] = []
  const middles: number[] = []
  for (let [from, length] = [0, FIRST_S]; from < LONGEST_S; from += length, length *= GROWTH) {
    lengths.push(length)
    middles.push(from + length / 2)
  }
  const errors = likeliestErrors(fit.evidence, fit.mode)
  const found = errors && further(fit, errors.values, lengths)
  if (found === undefined) return undefined
  const dies = found.dieC.subarray(found.logged)
  const restC = dies.at(-1) as number
  const left = dies.map(dieC => Math.abs(dieC - restC))
  const near = left.findLastIndex(by => by > nearK) + 1
  if (near === 0) return 0
  // What is left falls about exponentially between the middles of two blocks.
  const [before, after] = [Math.log(left[near - 1] as number), Math.log(Math.max(left[near] as number, 1e-9))]
  const [early, late] = [middles[near - 1] as number, middles[near] as number]
  return early + ((before - Math.log(nearK)) / (before - after)) * (late - early)
}

const BISECTIONS = 12
/** Further blocks are so long, as a share of what is added. */
const BLOCK_SHARE = 1 / 6

/**
 * How many more seconds of the same load would halve the uncertainty of the settled die; undefined where even eight
 * hours would not.
 */
export function secondsToHalve(fit: LogFit): number | undefined {
  const here = likeliestErrors(fit.evidence, fit.mode)
  const now = here && figuresAt(fit, here, here.values)?.die.standardUncertainty
  if (here === undefined || now === undefined) return undefined
  const after = (seconds: number): number => longerUncertainty(fit, here.values, seconds) ?? now
  let [low, high] = [0, 30]
  while (after(high) > now / 2) {
    low = high
    high *= 2
    if (high > LONGEST_S) return undefined
  }
  for (let round = 0; round < BISECTIONS && high - low > 0.02 * high; round++) {
    const middle = (low + high) / 2
    if (after(middle) > now / 2) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/**
 * The die's uncertainty once the log has gone on for so long. Its further readings are as the fitted bench gives them: any
 * others would count as odd, and for little.
 */
function longerUncertainty(fit: LogFit, errors: Float64Array, seconds: number): number | undefined {
  const { evidence, bench, unknowns, mode } = fit
  const { stepS } = evidence.point.blocks
  const count = Math.max(1, Math.round(seconds / Math.max(stepS, BLOCK_SHARE * seconds)))
  const found = further(fit, errors, new Array<number>(count).fill(seconds / count))
  if (found === undefined) return undefined
  const longer = logEvidence(evidence.point, bench, evidence.asked, { blocks: found.blocks, isFine: false })
  longer.noises = evidence.noises
  longer.scatterBy({ powerShare: 0, temperatureK: 0 })
  const covariance = covarianceAt(unknowns, longer, mode)
  const here = covariance && likeliestErrors(longer, mode)
  return covariance && here && figuresAt({ evidence: longer, mode, covariance }, here, errors)?.die.standardUncertainty
}

/** The covariance that the curvature at these values gives, wherever the likeliest ones are. */
function covarianceAt(
  unknowns: readonly Unknown[],
  evidence: LogEvidence,
  mode: Float64Array,
): Float64Array | undefined {
  // It looks nowhere else and stays where it is.
  return posteriorOf(unknowns, [evidence], { steps: 0, start: mode, isFixed: true })?.covariance
}
