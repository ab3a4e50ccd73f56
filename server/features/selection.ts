/** Stretches around a place, each within the next. */

import type { Span } from '../../grammar/tree.ts'
import { headSpan } from '../checks/support/place.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { cursorAt } from './cursor.ts'

/** The stretches around a place, each within the next: word, value, line, block, definition, file. */
export function selectionSpans(workspace: Workspace, uri: string, offset: number): readonly Span[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const { path, item, slot, base, offset: at } = cursorAt(view, offset)
  const spans: Span[] = []
  const add = (span: Span | undefined): void => {
    if (span === undefined) return
    const placed = { start: base + span.start, end: base + span.end }
    const last = spans.at(-1)
    const grows = last === undefined || (placed.start <= last.start && placed.end >= last.end)
    const same = last !== undefined && placed.start === last.start && placed.end === last.end
    if (grows && !same) spans.push(placed)
  }
  if (item?.kind === 'number' && at <= item.number.end) add(item.number)
  add(item)
  for (const match of [...path].reverse()) {
    const { items, block } = match.statement
    if (match === path.at(-1) && slot !== undefined) {
      const [first, last] = [items[slot.from], items[slot.to - 1]]
      if (first !== undefined && last !== undefined) add({ start: first.start, end: last.end })
    }
    if (block !== undefined && at >= block.start && at <= block.end) {
      const [first, last] = [block.statements[0], block.statements.at(-1)]
      if (first !== undefined && last !== undefined && at >= first.start && at <= last.end)
        add({ start: first.start, end: last.end })
      add(block)
    } else if (items.length > 0) add(headSpan(match.statement))
    add(match.statement)
  }
  const whole = { start: 0, end: view.document.source.text.length }
  const last = spans.at(-1)
  if (last === undefined || last.start > 0 || last.end < whole.end) spans.push(whole)
  return spans
}
