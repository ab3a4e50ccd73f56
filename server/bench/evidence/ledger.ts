/** The ledger of a part: for each ratio what was tried, what it is taken to need, and what its stated row is worth. */
import { type Proof, usualProof } from '../../semantic/proof.ts'
import type { VoltageTrial } from './hazard.ts'
import type { RowPosterior } from './marginal.ts'
import { type Posterior, posteriorOf } from './posterior.ts'
import { PRIOR_SPREAD_V, type StatedRow } from './prior.ts'

export type LedgerWord = 'proven' | 'contradicted' | 'untested' | 'unclear' | 'likely' | 'doubtful'

export interface LedgerRow<T extends VoltageTrial = VoltageTrial> {
  readonly ratio: number
  /** The stated row, straight between two. */
  readonly statedV: number
  /** The voltage that holds for the proof's time with the proof's probability. */
  readonly proofV: number
  readonly standardUncertaintyV: number
  /** That the stated voltage is enough. */
  readonly probability: number
  /** The longest trial that held at this ratio, and the voltage it held at. */
  readonly heldS: number | undefined
  readonly heldV: number | undefined
  readonly stops: number
  /** How many of them are probably not the voltage's. */
  readonly oddStops: number
  readonly word: LedgerWord
  /** The stop at the highest voltage that speaks against the stated one, at this ratio or a lower one. */
  readonly stop: T | undefined
  readonly posterior: RowPosterior
}

export interface Ledger<T extends VoltageTrial = VoltageTrial> {
  readonly posterior: Posterior
  readonly proof: Proof
  /** The stated rows, and ratios that were tried between or beyond them. */
  readonly rows: readonly LedgerRow<T>[]
  /** What is known of any ratio. */
  at(ratio: number): LedgerRow<T>
  /** The stops that speak against a voltage at a ratio, that at the highest voltage first. */
  stopsAgainst(ratio: number, comparableV: number): readonly T[]
}

/** Within this of a voltage a trial speaks of it. */
const NEAR_V = 0.015
/** An uncertainty of more than this share of the prior's has learned next to nothing. */
const WIDE_SHARE = 0.8
const PROVEN = 0.9
const PROVEN_S = 3600
/** A stop with more than this share of its rate from elsewhere is probably not the voltage's. */
const ODD_SHARE = 0.5

/**
 * The trials that the rows can be judged by. Below the first row nothing is stated, so what held there says nothing of
 * it; what stopped there speaks against it all the more. Beyond a single row there is no line to go on with: what held
 * there bears the row out, what stopped says nothing of it.
 */
export function countingTrials<T extends VoltageTrial>(
  needs: readonly StatedRow[],
  trials: readonly T[],
  ratioStep: number,
): readonly T[] {
  const lowest = (needs[0]?.ratio ?? 0) - ratioStep / 2
  const highest = needs.length === 1 ? (needs[0]?.ratio ?? 0) + ratioStep / 2 : Number.POSITIVE_INFINITY
  return trials.filter(({ ratio, end }) => (end.kind === 'held' ? ratio > lowest : ratio < highest))
}

/**
 * @param needs the part's stated rows, ratios rising
 * @param ratioStep trials within one of a ratio are trials near it
 * @param posterior that of the counting trials, where it is known already
 */
export function ledgerOf<T extends VoltageTrial>(
  needs: readonly StatedRow[],
  trials: readonly T[],
  ratioStep: number,
  proof: Proof = usualProof,
  posterior: Posterior = posteriorOf(needs, countingTrials(needs, trials, ratioStep), proof),
): Ledger<T> {
  const half = ratioStep / 2
  const counting = countingTrials(needs, trials, ratioStep)
  const kept = new Map<number, LedgerRow<T>>()
  const isOdd = ({ ratio, comparableV }: T): boolean => posterior.at(ratio).background(comparableV) > ODD_SHARE
  const stopsAgainst = (ratio: number, comparableV: number): readonly T[] =>
    counting
      .filter(trial => trial.end.kind === 'stopped' && trial.ratio < ratio + half)
      .filter(trial => trial.comparableV >= comparableV - NEAR_V && !isOdd(trial))
      .sort((a, b) => b.comparableV - a.comparableV)
  const made = (ratio: number): LedgerRow<T> => {
    const own = posterior.at(ratio)
    const { statedV, meanV, standardUncertaintyV, probability } = own
    const here = trials.filter(trial => Math.abs(trial.ratio - ratio) < half)
    const held = here.flatMap(({ comparableV, end }) => (end.kind === 'held' ? [{ comparableV, forS: end.forS }] : []))
    held.sort((a, b) => b.forS - a.forS || a.comparableV - b.comparableV)
    const stops = here.filter(({ end }) => end.kind === 'stopped')
    const [stop] = stopsAgainst(ratio, statedV)
    return {
      ratio,
      statedV,
      proofV: meanV,
      standardUncertaintyV,
      probability,
      heldS: held[0]?.forS,
      heldV: held[0]?.comparableV,
      stops: stops.length,
      oddStops: stops.filter(isOdd).length,
      word: wordFor(own, counting, ratioStep, stop !== undefined),
      stop,
      posterior: own,
    }
  }
  const at = (ratio: number): LedgerRow<T> => {
    const row = kept.get(ratio) ?? made(ratio)
    kept.set(ratio, row)
    return row
  }
  const ratios = needs.map(row => row.ratio)
  const tried = trials.map(trial => trial.ratio).filter(ratio => !ratios.some(own => Math.abs(own - ratio) < half))
  const all = [...new Set([...ratios, ...tried])].sort((a, b) => a - b)
  return { posterior, proof, rows: all.map(at), at, stopsAgainst }
}

/** The first word that fits. */
function wordFor(
  { ratio, statedV, standardUncertaintyV, probability }: RowPosterior,
  trials: readonly VoltageTrial[],
  ratioStep: number,
  isStopped: boolean,
): LedgerWord {
  const heldS = trials.reduce((sum, trial) => {
    const counts = trial.ratio > ratio - ratioStep / 2 && trial.comparableV <= statedV + NEAR_V
    return counts && trial.end.kind === 'held' ? sum + trial.end.forS : sum
  }, 0)
  if (probability >= PROVEN && heldS >= PROVEN_S) return 'proven'
  if (probability < 1 - PROVEN && isStopped) return 'contradicted'
  if (standardUncertaintyV > WIDE_SHARE * PRIOR_SPREAD_V) {
    const near = trials.some(trial => Math.abs(trial.ratio - ratio) <= ratioStep + 1e-9)
    return near ? 'unclear' : 'untested'
  }
  return probability >= 0.5 ? 'likely' : 'doubtful'
}
