/** A part's ledger for a terminal and for scripts. */
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { type NextTrials, nothingText, type PartLedger, wording, evidenceWords as words } from '../../service.ts'
import { headText, type Paint, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { proposalsJson } from './next-output.ts'
import { type Cell, type Column, tableText, widthOf, wrapped } from './table.ts'

const { chanceText, ratioText, voltageText } = wording

const ledgerColumns: readonly Column[] = [
  { head: 'ratio', side: 'right', key: true },
  { head: 'held', side: 'left' },
  { head: 'stops', side: 'left' },
  { head: 'takes', side: 'left' },
  { head: 'stated', side: 'right' },
  { head: 'enough', side: 'right' },
  { head: '', side: 'left' },
]

const trialColumns: readonly Column[] = [
  { head: 'ratio', side: 'right', key: true },
  { head: 'at the die', side: 'right' },
  { head: 'ended', side: 'left' },
  { head: 'run', side: 'left' },
]

function ledgerRow(row: PartEvidence['ledger']['rows'][number], paint: Paint): Cell[] {
  const { word } = row
  const texts = [
    ratioText(row.ratio),
    words.heldText(row),
    words.stopsText(row),
    words.takesText(row),
    voltageText(row.statedV),
    chanceText(row.probability),
  ]
  const colour = word === 'contradicted' ? 'red' : word === 'proven' ? 'bold' : undefined
  return [...texts.map(text => ({ text })), { text: word, ...(colour && { shown: paint(colour, word) }) }]
}

/** @param at file and line of the part's name */
export function evidenceText({ part, evidence }: PartLedger, at: string, io: Io): string {
  const paint = paintFor(io, io.out)
  const width = widthOf(io)
  const line = (text: string | undefined): string => (text === undefined ? '' : wrapped(text, '  ', width))
  const head = headText(paint, part.name, at)
  if (evidence === undefined) return `${head}${line(nothingText(part.name))}`
  const groups = [...(evidence.groups ?? [])]
  if (groups.length > 0) {
    const [first] = groups
    return groups
      .map(([name, own]) => `${own === first?.[1] ? head : ''}${ledgerText(own, io, `group ${name}`)}`)
      .join('\n')
  }
  return `${head}${ledgerText(evidence, io)}`
}

/** What trials show of cores of one kind. @param title where there are others */
function ledgerText(evidence: PartEvidence, io: Io, title?: string): string {
  const paint = paintFor(io, io.out)
  const width = widthOf(io)
  const line = (text: string | undefined): string => (text === undefined ? '' : wrapped(text, '  ', width))
  const { rows } = evidence.ledger
  const shown = [...new Set(rows.map(({ word }) => word))]
  const trials = words.sortedTrials(evidence).map(trial =>
    [ratioText(trial.ratio), voltageText(trial.voltageV), words.endText(trial), words.nameOf(trial)].map(text => ({
      text,
    })),
  )
  return [
    `${title === undefined ? '' : `${paint('bold', title)}\n`}${line(words.aboutText(evidence))}`,
    tableText(
      ledgerColumns,
      rows.map(row => ledgerRow(row, paint)),
      width,
    ),
    `${shown.map(word => line(`${word}: ${words.meanings[word]}`)).join('')}${line(words.oddText(evidence))}`,
    tableText(trialColumns, trials, width),
    [words.comparableText(evidence), ...words.leftOutTexts(evidence), `Caution: ${words.caution}`].map(line).join(''),
  ].join('\n')
}

type NamedLedger = readonly [group: string | undefined, own: PartEvidence]

/** The ledger of each group that something was tried of; without a name where all cores are alike. */
function ledgersOf(evidence: PartEvidence | undefined): readonly NamedLedger[] {
  if (evidence === undefined) return []
  return evidence.groups === undefined ? [[undefined, evidence]] : [...evidence.groups]
}

/** Every key is always there, `group` and its sharpness where there are groups; what there is not is null. */
export function evidenceJson({ part, evidence }: PartLedger, next: readonly NextTrials[]): string {
  const value = {
    version: 1,
    part: part.name,
    sharpness_v: evidence === undefined ? null : evidence.ledger.posterior.sharpness.medianV,
    rows: ledgersOf(evidence).flatMap(([group, own]) =>
      own.ledger.rows.map(row => ({
        ...(group === undefined ? {} : { group, sharpness_v: own.ledger.posterior.sharpness.medianV }),
        ratio: row.ratio,
        stated_v: row.statedV,
        v95_v: row.proofV,
        standard_uncertainty_v: row.standardUncertaintyV,
        probability: row.probability,
        held_s: row.heldS ?? null,
        held_v: row.heldV ?? null,
        stops: row.stops,
        word: row.word,
      })),
    ),
    next: next.flatMap(proposalsJson),
  }
  return `${JSON.stringify(value, undefined, 2)}\n`
}
