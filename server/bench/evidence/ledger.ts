/** The ledger of a part: for each ratio what was tried, what it is taken to need, and what its stated row is worth. */
import { type Proof, usualProof, type VoltageTrial } from './hazard.ts'
import { type Posterior, posteriorOf } from './posterior.ts'
import { PRIOR_SPREAD_V, type StatedRow } from './prior.ts'

export type LedgerWord = 'proven' | 'contradicted' | 'untested' | 'unclear' | 'likely' | 'doubtful'

export interface LedgerRow {
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
  readonly word: LedgerWord
}

export interface Ledger {
  readonly posterior: Posterior
  readonly proof: Proof
  readonly rows: readonly LedgerRow[]
}

/** Within this of the stated voltage a trial speaks of it. */
const NEAR_V = 0.015
/** An uncertainty of more than this share of the prior's has learned next to nothing. */
const WIDE_SHARE = 0.8
const PROVEN = 0.9
const PROVEN_S = 3600

/**
 * @param needs the part's stated rows, ratios rising
 * @param ratioStep trials within one of a ratio are trials near it
 */
export function ledgerOf(
  needs: readonly StatedRow[],
  trials: readonly VoltageTrial[],
  ratioStep: number,
  proof: Proof = usualProof,
): Ledger {
  const posterior = posteriorOf(needs, trials, proof)
  const ratios = needs.map(row => row.ratio)
  const tried = trials
    .map(trial => trial.ratio)
    .filter(ratio => !ratios.some(own => Math.abs(own - ratio) < ratioStep / 2))
  const all = [...new Set([...ratios, ...tried])].sort((a, b) => a - b)
  const rows = all.map((ratio): LedgerRow => {
    const { statedV, meanV, standardUncertaintyV, probability } = posterior.at(ratio)
    const here = trials.filter(trial => Math.abs(trial.ratio - ratio) < ratioStep / 2)
    const held = here.flatMap(({ comparableV, end }) => (end.kind === 'held' ? [{ comparableV, forS: end.forS }] : []))
    const longest = held.reduce<(typeof held)[number] | undefined>(
      (best, one) =>
        best === undefined || one.forS > best.forS || (one.forS === best.forS && one.comparableV < best.comparableV)
          ? one
          : best,
      undefined,
    )
    return {
      ratio,
      statedV,
      proofV: meanV,
      standardUncertaintyV,
      probability,
      heldS: longest?.forS,
      heldV: longest?.comparableV,
      stops: here.length - held.length,
      word: wordFor(ratio, statedV, standardUncertaintyV, probability, trials, ratioStep),
    }
  })
  return { posterior, proof, rows }
}

/** The first word that fits. */
function wordFor(
  ratio: number,
  statedV: number,
  standardUncertaintyV: number,
  probability: number,
  trials: readonly VoltageTrial[],
  ratioStep: number,
): LedgerWord {
  const half = ratioStep / 2
  const heldS = trials.reduce((sum, trial) => {
    const counts = trial.ratio > ratio - half && trial.comparableV <= statedV + NEAR_V
    return counts && trial.end.kind === 'held' ? sum + trial.end.forS : sum
  }, 0)
  if (probability >= PROVEN && heldS >= PROVEN_S) return 'proven'
  const stopped = trials.some(
    trial => trial.end.kind === 'stopped' && trial.ratio < ratio + half && trial.comparableV >= statedV - NEAR_V,
  )
  if (probability < 1 - PROVEN && stopped) return 'contradicted'
  if (standardUncertaintyV > WIDE_SHARE * PRIOR_SPREAD_V) {
    const near = trials.some(trial => Math.abs(trial.ratio - ratio) <= ratioStep + 1e-9)
    return near ? 'unclear' : 'untested'
  }
  return probability >= 0.5 ? 'likely' : 'doubtful'
}
