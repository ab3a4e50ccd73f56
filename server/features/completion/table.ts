/** Completion in tables: the row that comes next, and the ratio of one that was begun. */

import type { Item } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { findWord } from '../../../grammar/vocabulary/index.ts'
import { partOfGroup } from '../../model/index.ts'
import { partConstants } from '../../semantic/constants.ts'
import { nameAfter, rows } from '../../semantic/definitions.ts'
import { evaluate } from '../../semantic/evaluate.ts'
import { resolveProfile } from '../../semantic/profile.ts'
import { plain } from '../../wording/figures.ts'
import { ratioThatHolds } from './ratio.ts'
import { heldText, nextRow, noneText, slowestBelow, type TableContext } from './rows.ts'
import type { Completion, Context } from './types.ts'

/** The profile in which the cursor stands, with the part it is for. */
function tableContext({ view, at }: Context, all: readonly Match[]): TableContext {
  const owner = view.document.definitions.find(definition => definition.match === at.around[0])
  if (owner?.kind !== 'profile') return { part: undefined, all, held: () => undefined }
  const profile = resolveProfile(view.scope, owner)
  const part = profile.part && partConstants(profile.part).value
  const table = at.around.at(-1)
  const name = table && nameAfter(table)
  const group = part?.groups?.findIndex(one => one.name === name) ?? 0
  if (part?.groups !== undefined && group < 0) {
    // A table for every group goes as far as the largest; no one ratio holds for all of them.
    return { part: { ...part, cores: Math.max(...part.groups.map(({ cores }) => cores)) }, all, held: () => undefined }
  }
  return {
    part: part && partOfGroup(part, group),
    all,
    held: (counts, atMost) => ratioThatHolds(evaluate(view.scope, owner), counts, atMost, group),
  }
}

/** The ratio that holds for the core counts with which a row of `steps` begins. */
export function stepRatio(context: Context): readonly Completion[] {
  const { at, start, end } = context
  const table = at.around.at(-1)
  const [first, second, third, fourth] = at.before
  if (at.place !== 'steps' || table === undefined || first?.kind !== 'number') return []
  const isWord = (item: Item | undefined, ...words: readonly string[]): boolean =>
    item?.kind === 'word' && words.includes(item.text)
  const isRange = isWord(second, 'to') && third?.kind === 'number'
  const unit = isRange ? fourth : second
  if (!isWord(unit, 'core', 'cores') || at.before.at(-1) !== unit) return []
  const counts = { from: first.value, to: isRange ? third.value : first.value }
  const all = rows(table).filter(one => one !== at.match)
  const { part, held } = tableContext(context, all)
  if (part === undefined || counts.to > part.cores) return []
  const found = held(counts, slowestBelow(all, counts.from))
  if (found === undefined) return []
  // Silence would look like a missing feature: an item that writes nothing says why there is no ratio.
  const [label, text, detail] =
    'none' in found
      ? ['no ratio', '', noneText(found)]
      : [`${plain(found.ratio)}x`, `${plain(found.ratio)}x`, heldText(found)]
  return [
    {
      label,
      kind: 'row',
      detail,
      start,
      end,
      text,
      rank: 0,
      topic: { about: 'word', place: at.place, word: '' },
    },
  ]
}

/** The row that continues the table in which the cursor stands. */
export function tableRow(context: Context): readonly Completion[] {
  const { at, start, end } = context
  const table = at.around.at(-1)
  if (table === undefined || findWord(at.place, '') === undefined) return []
  const all = rows(table)
  const before = all.filter(one => one.statement.end <= at.offset)
  const next = nextRow(at.place, before, tableContext(context, all))
  if (next === undefined) return []
  const { label, snippet, detail } = next
  return [
    {
      label: label.trimEnd(),
      kind: 'row',
      detail: detail ?? 'the next row',
      start,
      end,
      text: label,
      snippet,
      rank: 0,
      topic: { about: 'word', place: at.place, word: '' },
    },
  ]
}
