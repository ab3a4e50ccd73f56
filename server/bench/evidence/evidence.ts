/** What trials say of one part's voltages: its ledger, and what speaks against a voltage. */
import { isAboveRows, type Part } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Contradiction, Evidence } from '../../semantic/evidence.ts'
import type { Proof } from '../../semantic/proof.ts'
import { type Ledger, type LedgerRow, ledgerOf } from './ledger.ts'
import { type Posterior, posteriorOf } from './posterior.ts'
import type { NoTrial, Trial } from './trials.ts'

export interface PartEvidence extends Evidence {
  /** Of a part with groups, those of them that something was tried of; this evidence is then that of the first of them. */
  readonly groups?: ReadonlyMap<string, PartEvidence>
  ofGroup(name: string): PartEvidence | undefined
  readonly part: Part
  readonly proof: Proof
  readonly trials: readonly Trial[]
  readonly leftOut: readonly NoTrial[]
  /** Found when it is first asked for. */
  readonly ledger: Ledger<Trial>
  /** The row of the ledger that speaks against a row of `needs`: its own, or that of a ratio tried below it. */
  againstRow(ratio: number): ContradictedRow | undefined
  /** What a run by itself speaks against, if it does. */
  of(run: Definition): Contradiction | undefined
  /** A run as a trial. */
  trial(run: Definition): Trial | undefined
}

export interface ContradictedRow {
  readonly row: LedgerRow<Trial>
  readonly found: Contradiction
}

/** A voltage that is rather enough than not is not doubted. */
const ENOUGH = 0.5
/** What is enough with less than this probability is contradicted by a stop. */
const CONTRADICTED = 0.1

function contradictionOf({ run, definition, ratio, voltageV, statedV, end, what }: Trial): Contradiction | undefined {
  if (run === undefined || end.kind !== 'stopped') return undefined
  return { run, definition, ratio, voltageV, statedV, afterS: end.afterS, what }
}

/** What is known where nothing was tried: the rows as they are stated. */
export function nothingTried(part: Part, proof: Proof): PartEvidence {
  return evidenceOf(part, [], [], proof, () => posteriorOf(part.needs, [], proof))
}

/** @param posterior that of the trials */
export function evidenceOf(
  part: Part,
  trials: readonly Trial[],
  leftOut: readonly NoTrial[],
  proof: Proof,
  posterior: () => Posterior,
): PartEvidence {
  const halfStep = part.ratioStep / 2
  let made: Ledger<Trial> | undefined
  const ledger = (): Ledger<Trial> => {
    made ??= ledgerOf(part.needs, trials, part.ratioStep, proof, posterior())
    return made
  }
  const contradicted = (row: LedgerRow<Trial>): ContradictedRow | undefined => {
    const found = row.word === 'contradicted' && row.stop !== undefined ? contradictionOf(row.stop) : undefined
    return found && { row, found }
  }
  // Beyond the last row nothing is stated that a run could speak against.
  const isStated = (ratio: number): boolean => !isAboveRows(part.needs, ratio - halfStep)
  return {
    ofGroup: () => undefined,
    part,
    proof,
    trials,
    leftOut,
    get ledger() {
      return ledger()
    },
    against: (ratio, comparableV) => {
      const row = ledger().at(ratio)
      const enough = row.posterior.enough(comparableV)
      if (enough >= ENOUGH) return undefined
      const stop = enough < CONTRADICTED ? ledger().stopsAgainst(ratio, comparableV)[0] : undefined
      return stop === undefined ? contradicted(row)?.found : contradictionOf(stop)
    },
    holds: (ratio, comparableV, forS) => {
      const { word, posterior: own } = ledger().at(ratio)
      return word === 'untested' ? undefined : own.holds(comparableV, forS)
    },
    againstRow: ratio => {
      const { rows } = ledger()
      const own = contradicted(ledger().at(ratio))
      if (own !== undefined) return own
      // Between two rows it is the line up to the upper one that is too low.
      const below = rows.filter(row => part.needs.find(need => need.ratio >= row.ratio - halfStep)?.ratio === ratio)
      return below.map(contradicted).find(found => found !== undefined)
    },
    of: run => {
      const trial = trials.find(one => one.definition === run && one.end.kind === 'stopped')
      if (trial === undefined || !isStated(trial.ratio)) return undefined
      const { word, ratio, statedV } = ledger().at(trial.ratio)
      const speaks = word === 'contradicted' && ledger().stopsAgainst(ratio, statedV).includes(trial)
      return speaks ? contradictionOf(trial) : undefined
    },
    trial: run => trials.find(one => one.definition === run),
  }
}

/**
 * The evidence of a part with groups, from that of each that something was tried of; undefined where there is none.
 * @param leftOut runs that are no trial of any group
 */
export function evidenceOfGroups(
  groups: ReadonlyMap<string, PartEvidence>,
  leftOut: readonly NoTrial[],
): PartEvidence | undefined {
  const all = [...groups.values()]
  const [first] = all
  if (first === undefined) return undefined
  const among = <T>(of: (one: PartEvidence) => T | undefined): T | undefined =>
    all.map(of).find(found => found !== undefined)
  return {
    ...first,
    get ledger() {
      return first.ledger
    },
    groups,
    leftOut,
    ofGroup: name => groups.get(name),
    of: run => among(one => one.of(run)),
    trial: run => among(one => one.trial(run)),
  }
}
