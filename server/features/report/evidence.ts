/** What a report says of a part's voltages: its ledger. */
import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { chanceText } from '../../wording/evidence.ts'
import { ratioText, voltageText } from '../../wording/figures.ts'
import {
  aboutText,
  caution,
  comparableText,
  heldText,
  leftOutTexts,
  oddText,
  stopsText,
  takesText,
} from '../evidence/words.ts'
import { type Drawable, drawnLedger } from '../views/index.ts'
import { type Block, heading, table, text } from './blocks.ts'

/** @param drawn the profiles whose part it is: what they give it is drawn as well */
export function evidenceBlocks(
  part: string,
  evidence: PartEvidence | undefined,
  drawn: readonly Drawable[],
): readonly Block[] {
  if (evidence === undefined) return []
  const picture = drawnLedger(drawn, evidence, { width: 720, height: 420, id: `ledger-${part}` })
  const { groups } = evidence
  return [
    heading(2, `Voltages of part ${part}`),
    // The box of the report stands at its head, once.
    text(caution),
    ...(picture === undefined ? [] : [{ kind: 'pictures', pictures: [picture] } as const]),
    ...(groups === undefined
      ? tableOf(evidence)
      : [...groups].flatMap(([name, own]) => [heading(3, `Group ${name}`), ...tableOf(own)])),
  ]
}

function tableOf(evidence: PartEvidence): readonly Block[] {
  const rows = evidence.ledger.rows.map(row => [
    ratioText(row.ratio),
    voltageText(row.statedV),
    chanceText(row.probability),
    row.word,
    takesText(row),
    heldText(row),
    stopsText(row),
  ])
  const notes = [oddText(evidence), comparableText(evidence), ...leftOutTexts(evidence).map(one => `${one}.`)]
  return [
    text(aboutText(evidence)),
    table(['ratio', 'stated', 'enough', 'verdict', 'takes', 'longest held', 'stops'], rows),
    ...notes.flatMap(note => (note === undefined ? [] : [text(note)])),
  ]
}
