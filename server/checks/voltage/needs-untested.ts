import { hasNeeds, needsTables } from '../../bench/evidence/needs-tables.ts'
import { quantity, rows } from '../../semantic/definitions.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import { headPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

export const needsUntested: Check = {
  code: 'needs-untested',
  severity: 'hint',
  title: 'A need that no trial comes near',
  page: {
    what: 'Each row of `needs` of a part that has any trial, a run with `held` or `stopped` or a `known` row with a voltage: whether one of them is within a ratio-step of it, or says as much from further away.',
    why: 'What the part needs at that ratio is what was once written down. Whatever rests on it is as sure as that was.',
    remedy:
      'Run a load at that ratio and write down how long it held. `detent next` proposes what to run. There is no quick fix: it has to be tried.',
    example: 'part sample-c2 {\n  needs { 40x 1.010 V; 55x 1.345 V }\n  known { 4.0 GHz 1.010 V 88 W }\n}',
  },
  *inFile({ view, evidence }) {
    for (const part of view.document.definitions) {
      if (part.kind !== 'part' || !hasNeeds(part)) continue
      for (const { table, evidence: known, group } of needsTables(part, evidence(part))) {
        for (const row of rows(table)) {
          const [ratio, voltage] = [quantity(row, 'ratio')?.value, quantity(row, 'voltage')?.value]
          if (ratio === undefined || voltage === undefined || known.ledger.at(ratio).word !== 'untested') continue
          const of = group === undefined ? '' : ` of group \`${group}\``
          yield {
            at: headPlace(part, row),
            ...(group === undefined ? {} : { group }),
            message: `Need untested: no trial has come near ${ratioText(ratio)}${of}. That ${voltageText(voltage)} is enough is what was written down. Run a load there, and write down how long it held; \`detent next\` proposes what to run.`,
          }
        }
      }
    }
  },
}
