/** What trials show, where the pointer is: at rows of `needs` and `known`, at the part, at a run and how it ended. */
import type { Match } from '../../../grammar/values.ts'
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import type { LedgerRow } from '../../bench/evidence/ledger.ts'
import { needsTables } from '../../bench/evidence/needs-tables.ts'
import type { Trial } from '../../bench/evidence/trials.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import { type Definition, quantity, rows } from '../../semantic/definitions.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { knownPoints, leadOf } from '../../semantic/known.ts'
import { chanceText } from '../../wording/evidence.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import type { Cursor } from '../cursor.ts'
import {
  aboutText,
  endText,
  heldText,
  ledgerSummary,
  meanings,
  nameOf,
  sortedTrials,
  takesText,
} from '../evidence/words.ts'
import { list, prose } from '../markdown.ts'
import { type Told, told } from './told.ts'

/** The part whose evidence a hover at the cursor shows. */
export function evidencePart({ definition, match }: Cursor, run: ComparedRun | undefined): Definition | undefined {
  if (definition?.kind === 'run') return run?.predicted?.evaluation.profile.part
  if (definition?.kind !== 'part') return undefined
  const word = match?.word?.word
  const isTable = match?.place === 'needs' || match?.place === 'known'
  return match?.place === 'file' || isTable || word === 'needs' || word === 'known' ? definition : undefined
}

function trialText(trial: Trial): string {
  return `${endText(trial)} with ${voltageText(trial.voltageV)} at the die (${nameOf(trial)})`
}

function ofRow(evidence: PartEvidence, row: LedgerRow): Told {
  const half = evidence.part.ratioStep / 2
  const here = sortedTrials(evidence).filter(({ ratio }) => Math.abs(ratio - row.ratio) < half)
  return told({
    lines: [
      `Trials: **${row.word}**, enough with a probability of ${chanceText(row.probability)}. It takes ${takesText(row)}; ${meanings[row.word]}.`,
    ],
    rest: [
      list([
        aboutText(evidence),
        ...(row.heldS === undefined ? [] : [`held longest: ${heldText(row)}`]),
        ...here.map(trial => prose(trialText(trial))),
      ]),
    ],
  })
}

function ofRun(whole: PartEvidence, { definition }: ComparedRun['record']): Told | undefined {
  const trial = whole.trial(definition)
  const evidence = (trial?.group === undefined ? undefined : whole.ofGroup(trial.group)) ?? whole
  const out = whole.leftOut.find(one => one.definition === definition)
  if (out !== undefined) return told({ lines: [`No trial of the voltage: ${prose(out.why)}.`] })
  if (trial === undefined) return undefined
  const row = evidence.ledger.at(trial.ratio)
  const odd = trial.end.kind === 'stopped' && row.posterior.background(trial.comparableV) > 0.5
  const against = evidence.of(definition) === undefined ? '' : ' It contradicts `needs`.'
  return told({
    lines: [
      `A trial at ${ratioText(trial.ratio)} with ${voltageText(trial.voltageV)} at the die, where ${voltageText(trial.statedV)} is stated.${odd ? ' Probably not the voltage, given all that held.' : against}`,
    ],
    rest: [
      `After all trials ${ratioText(row.ratio)} takes ${takesText(row)}: ${voltageText(row.statedV)} is enough with a probability of ${chanceText(row.probability)} (${row.word}).`,
    ],
  })
}

/** @param evidence of the part that `evidencePart` found */
export function evidenceTold(
  evidence: PartEvidence,
  { definition, match }: Cursor,
  run: ComparedRun | undefined,
): Told | undefined {
  if (definition?.kind === 'run') return run && ofRun(evidence, run.record)
  if (match?.place !== 'needs' && match?.place !== 'known')
    return told({ lines: [`Trials: ${ledgerSummary(evidence)}.`], rest: [aboutText(evidence)] })
  if (match.word?.word !== '') return undefined
  const own = definition === undefined ? undefined : evidenceAt(evidence, definition, match)
  if (own === undefined) return undefined
  const ratio = match.place === 'needs' ? quantity(match, 'ratio')?.value : knownRatio(own, match)
  return ratio === undefined ? undefined : ofRow(own, own.ledger.at(ratio))
}

/** The evidence that a row of `needs` or `known` is about: that of its group, where cores are of several kinds. */
function evidenceAt(evidence: PartEvidence, part: Definition, match: Match): PartEvidence | undefined {
  if (evidence.groups === undefined) return evidence
  if (match.place === 'needs')
    return needsTables(part, evidence).find(({ table }) => rows(table).includes(match))?.evidence
  const point = knownPoints(part).find(one => one.match === match)
  const lead = point && leadOf(point, groupBlocks(part.match))
  return lead && evidence.ofGroup(lead.name)
}

/** The ratio at which a row of `known` is a trial: where it has a clock and a voltage. */
function knownRatio({ part }: PartEvidence, match: Match): number | undefined {
  const clock = quantity(match, 'clock')?.value
  return clock === undefined || quantity(match, 'voltage') === undefined ? undefined : clock / part.referenceGhz
}
