import { entry, quantity, rows } from '../../semantic/definitions.ts'
import type { Contradiction } from '../../semantic/evidence.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import { durationText } from '../../wording/times.ts'
import { headPlace, namePlace } from '../support/place.ts'
import type { Check, FileContext, Found } from '../types.ts'

const remedy =
  "Write a row that the runs bear out, or lower the steps that use it; the maker's limit on voltage comes first."

/** `after 12 min ("hang")` */
function ending({ afterS, what }: Contradiction): string {
  return `after ${durationText(afterS)} (“${what}”)`
}

/** At the rows of `needs` that a run speaks against. */
function* atRows({ view, evidence }: FileContext): Iterable<Found> {
  for (const part of view.document.definitions) {
    const table = part.kind === 'part' ? entry(part.match, 'needs') : undefined
    const found = table === undefined ? undefined : evidence(part)
    if (table === undefined || found === undefined) continue
    for (const row of rows(table)) {
      const ratio = quantity(row, 'ratio')?.value
      const statedV = quantity(row, 'voltage')?.value
      const against = ratio === undefined ? undefined : found.againstRow(ratio)
      if (ratio === undefined || statedV === undefined || against === undefined) continue
      const at = Math.abs(against.ratio - ratio) < 0.05 ? '' : ` at ${ratioText(against.ratio)}`
      yield {
        at: headPlace(part, row),
        message: `Need contradicted: ${ratioText(ratio)} takes more than ${voltageText(statedV)}. Run \`${against.run}\` stopped${at} ${ending(against)} with ${voltageText(against.voltageV)} at the die. No clock that rests on this row counts as held. ${remedy}`,
      }
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
    what: 'Each run with `stopped`, in any file that sees the part: whether the die had at least what `needs` asks for at that ratio, temperature and load. The die voltage is the measured one, else the predicted one. A stop with the die at the limit of the part, and one whose words name the cooler, the mains or a person, is not a trial of the voltage. Stops are outweighed by runs that held for an hour for each of them at no more voltage and no lower a ratio (engineering judgement, no source).',
    why: 'A part that stops at a voltage stated as enough needs more. What is predicted to hold there does not.',
    remedy:
      "Write a higher row and prove it with a run that holds, or lower the step. Stay within the maker's limit: if the part needs more than that, the ratio is too fast for it. There is no quick fix: which voltage holds has to be tried.",
    example:
      'part sample-c2 {\n  needs { 40x 1.010 V; 49x 1.220 V }\n}\nrun evening of daily under render {\n  measured { voltage 1.236 V }\n  stopped after 12 min "hang"\n}',
  },
  *inFile(context) {
    yield* atRows(context)
    yield* atRuns(context)
  },
}
