/** What stands at a place of a file. */

import { matchChunk } from '../../grammar/match.ts'
import { type Chunk, chunkAt, type Item, type Span } from '../../grammar/tree.ts'
import type { Match, SlotItems } from '../../grammar/values.ts'
import type { Definition } from '../semantic/definitions.ts'
import type { FileView } from '../workspace/workspace.ts'

export interface Cursor {
  readonly view: FileView
  readonly chunk: Chunk
  /** Where the chunk begins in the file. */
  readonly base: number
  /** The place, counted from the chunk's start. */
  readonly offset: number
  /** The statements around the place, outer first. */
  readonly path: readonly Match[]
  /** The innermost statement. */
  readonly match: Match | undefined
  /** The item of the innermost statement that the place touches. */
  readonly item: Item | undefined
  readonly itemIndex: number
  /** The slot that took the item; undefined for the key word itself and for what did not fit. */
  readonly slot: SlotItems | undefined
  /** The definition around the place. */
  readonly definition: Definition | undefined
}

/** The element that an offset lies in, or else the one that ends there. */
function touching<T extends Span>(list: readonly T[], offset: number): T | undefined {
  return (
    list.find(({ start, end }) => offset >= start && offset < end) ??
    list.find(({ start, end }) => offset >= start && offset === end)
  )
}

/** Looks up a place; offsets outside the file are brought to its ends. */
export function cursorAt(view: FileView, fileOffset: number): Cursor {
  const { source, definitions } = view.document
  const clamped = Math.max(0, Math.min(fileOffset, source.text.length))
  const { chunk, start: base } = chunkAt(source, clamped)
  const offset = clamped - base
  const path: Match[] = []
  for (let level = matchChunk(chunk); ; ) {
    const statement = touching(
      level.map(match => match.statement),
      offset,
    )
    const match = level.find(one => one.statement === statement)
    if (match === undefined) break
    path.push(match)
    level = match.children
  }
  const match = path.at(-1)
  const items = match?.statement.items ?? []
  const item = touching(items, offset)
  const itemIndex = item === undefined ? -1 : items.indexOf(item)
  const slot = match?.slots.find(({ from, to }) => itemIndex >= from && itemIndex < to)
  const definition = definitions.find(one => one.match === path[0])
  return { view, chunk, base, offset, path, match, item, itemIndex, slot, definition }
}
