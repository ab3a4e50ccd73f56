/** A part's ledger as a paper. */
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { chanceText } from '../../wording/evidence.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import { fenced, list, paragraphs, prose, table } from '../markdown.ts'
import type { PartLedger } from './for-part.ts'
import type { NextTrials } from './next-trial.ts'
import {
  knownText,
  nextCaution,
  noProposalText,
  outcomeTexts,
  predictedText,
  trialText,
  unreachedText,
} from './next-words.ts'
import {
  aboutText,
  caution,
  comparableText,
  endText,
  heldText,
  leftOutTexts,
  meanings,
  nameOf,
  oddText,
  sortedTrials,
  stopsText,
  takesText,
} from './words.ts'

function ledgerParts(evidence: PartEvidence): readonly (string | undefined)[] {
  if (evidence.groups === undefined) return ofOneKind(evidence)
  return [...evidence.groups].flatMap(([name, own]) => [`## Group ${name}`, ...ofOneKind(own)])
}

function ofOneKind(evidence: PartEvidence): readonly (string | undefined)[] {
  const { rows } = evidence.ledger
  const words = [...new Set(rows.map(({ word }) => word))]
  const left = leftOutTexts(evidence)
  return [
    aboutText(evidence),
    table(
      ['ratio', 'stated', 'enough', 'takes'],
      rows.map(row => [
        ratioText(row.ratio),
        voltageText(row.statedV),
        `${chanceText(row.probability)}, ${row.word}`,
        takesText(row),
      ]),
    ),
    list(words.map(word => `**${word}**: ${meanings[word]}`)),
    comparableText(evidence),
    '## Tried',
    table(
      ['ratio', 'longest held', 'stops'],
      rows.map(row => [ratioText(row.ratio), heldText(row), stopsText(row)]),
    ),
    oddText(evidence),
    table(
      ['ratio', 'at the die', 'ended', 'run'],
      sortedTrials(evidence).map(trial => [
        ratioText(trial.ratio),
        voltageText(trial.voltageV),
        prose(endText(trial)),
        prose(nameOf(trial)),
      ]),
    ),
    left.length === 0 ? undefined : list(left.map(prose)),
  ]
}

/** What to run next, for one profile. */
function nextParts(next: NextTrials): readonly (string | undefined)[] {
  return [
    `## Next trial for ${next.profile}`,
    knownText(next),
    next.proposals.length === 0 ? noProposalText(next) : undefined,
    ...next.proposals.flatMap(proposal => [
      `**${prose(trialText(proposal))}**`,
      list(outcomeTexts(proposal).map(prose)),
      fenced(proposal.run.trimEnd(), 'detent'),
    ]),
    `${predictedText(next)} **Caution:** ${nextCaution}`,
    unreachedText(next),
  ]
}

/** @returns Markdown without HTML that also reads as plain text */
export function evidenceMarkdown({ part, evidence }: PartLedger, next: readonly NextTrials[] = []): string {
  return `${paragraphs(
    `# Voltages of part ${part.name}`,
    `**Caution:** ${caution}`,
    ...(evidence === undefined ? [nothingText(part.name)] : ledgerParts(evidence)),
    ...next.flatMap(nextParts),
  )}\n`
}

/** What to do where nothing was tried. */
export function nothingText(part: string): string {
  return `No trial of part ${part} yet. Write how a run ended (\`held 1 h\`, \`stopped after 12 min "hang"\`), or what you have seen it do (\`known { 4.7 GHz 1.24 V 192 W }\`).`
}
