import type { ContradictedRow } from '../../bench/evidence/evidence.ts'
import { needsEdits } from '../../bench/evidence/needs-edits.ts'
import { hasNeeds, type NeedsTable, needsTables } from '../../bench/evidence/needs-tables.ts'
import { type Definition, entry, quantity, rows } from '../../semantic/definitions.ts'
import type { Contradiction } from '../../semantic/evidence.ts'
import { proofText } from '../../wording/evidence.ts'
import { millivoltsText, ratioText, voltageText } from '../../wording/figures.ts'
import { durationText } from '../../wording/times.ts'
import { headPlace, namePlace } from '../support/place.ts'
import type { Check, FileContext, Fix, Found } from '../types.ts'

const remedy =
  "Write a row that the trials bear out, or lower the steps that use it; the maker's limit on voltage comes first."

/** `after 12 min ("hang")` */
function ending({ afterS, what }: Contradiction): string {
  return `after ${durationText(afterS)} (“${what}”)`
}

/** The row as the ledger has it; with it the one below where a ratio between them was tried. */
function fixOf(
  part: Definition,
  ratio: number,
  { row }: ContradictedRow,
  { table, evidence: { ledger }, isShared }: NeedsTable,
): readonly Fix[] {
  if (isShared) return []
  const ratios = ledger.posterior.rows.map(one => one.ratio)
  const below = row.ratio < ratio ? ratios.findLast(one => one < ratio) : undefined
  const edits = needsEdits(
    part,
    [ratio, ...(below === undefined ? [] : [below])].map(one => ledger.at(one)),
    table,
  )
  if (edits === undefined || edits.length === 0) return []
  const title = `Write ${edits.map(({ text }) => text).join(' and ')}, as the trials have it`
  return [{ title, edits }]
}

/** At the rows of `needs` that a run speaks against. */
function* atRows({ view, evidence }: FileContext): Iterable<Found> {
  for (const part of view.document.definitions) {
    if (part.kind === 'part' && hasNeeds(part))
      for (const one of needsTables(part, evidence(part))) yield* inTable(part, one)
  }
}

function* inTable(part: Definition, one: NeedsTable): Iterable<Found> {
  const { table, evidence: known, group } = one
  const of = group === undefined ? '' : ` of group \`${group}\``
  for (const row of rows(table)) {
    const ratio = quantity(row, 'ratio')?.value
    const statedV = quantity(row, 'voltage')?.value
    const against = ratio === undefined ? undefined : known.againstRow(ratio)
    if (ratio === undefined || statedV === undefined || against === undefined) continue
    const { found } = against
    const { ratio: tried, proofV, standardUncertaintyV } = against.row
    const at = Math.abs(found.ratio - ratio) < 0.05 ? '' : ` at ${ratioText(found.ratio)}`
    const claim =
      Math.abs(tried - ratio) < 0.05
        ? `${ratioText(ratio)}${of} takes more than ${voltageText(statedV)}`
        : `the line up to ${ratioText(ratio)}${of} is too low`
    yield {
      at: headPlace(part, row),
      message: `Need contradicted: ${claim}. Run \`${found.run}\` stopped${at} ${ending(found)} with ${voltageText(found.voltageV)} at the die. After all trials ${ratioText(tried)} takes ${voltageText(proofV)} ± ${millivoltsText(standardUncertaintyV)} to hold ${proofText(known.proof)}. Clocks at that voltage do not count as held. ${remedy}`,
      ...(group === undefined ? {} : { group }),
      fixes: fixOf(part, ratio, against, one),
    }
  }
}

/** At the runs themselves, where their figures can be looked over. */
function* atRuns({ runs, evidence }: FileContext): Iterable<Found> {
  for (const { record, predicted } of runs) {
    const part = predicted?.evaluation.profile.part
    const against = record.outcome?.kind === 'stopped' ? evidence(part)?.of(record.definition) : undefined
    if (part === undefined || against === undefined) continue
    const stopped = entry(record.definition.match, 'stopped')
    const measured = record.measured.voltage === undefined ? 'predicted' : 'measured'
    yield {
      at: stopped === undefined ? namePlace(record.definition) : headPlace(record.definition, stopped),
      profile: record.profile,
      load: record.load,
      message: `This stop contradicts \`needs\` of part \`${part.name}\`: ${voltageText(against.voltageV)} at the die (${measured}) at ${ratioText(against.ratio)}, where ${voltageText(against.statedV)} is stated to be enough. ${remedy} If the cause was the cooler or anything else but the voltage, say so in the quotes.`,
      related: [{ at: namePlace(part), message: `the part whose \`needs\` it contradicts` }],
    }
  }
}

export const needsContradicted: Check = {
  code: 'needs-contradicted',
  severity: 'warning',
  title: 'A measured need that a run contradicts',
  page: {
    what: 'Each row of `needs` against the trials of the part: its `known` rows, and each run with `held` or `stopped`, in any file that sees the part. The die voltage is the measured one, else the predicted one, brought to the temperature and load that `needs` is stated for. A stop with the die at the limit of the part, and one whose words name the cooler, the mains or a person, is not a trial of the voltage. A row is contradicted where it is enough with a probability below 10 %, and a run stopped with that voltage, or no more than 15 mV less, at that ratio or a lower one. `detent evidence` shows how sure each row is.',
    why: 'A part that stops at a voltage stated as enough needs more. What is predicted to hold there does not.',
    remedy:
      "The quick fix writes the voltage that all trials together make likely, with its `±`; prove it with a run that holds. Or lower the step. Stay within the maker's limit: if the part needs more than that, the ratio is too fast for it, and there is no quick fix.",
    example:
      'part sample-c2 {\n  needs { 40x 1.010 V; 49x 1.220 V }\n}\nrun evening of daily under render {\n  measured { voltage 1.236 V }\n  stopped after 12 min "hang"\n}',
  },
  *inFile(context) {
    yield* atRows(context)
    yield* atRuns(context)
  },
}
