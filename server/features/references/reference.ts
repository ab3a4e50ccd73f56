/** Where names stand: at their definition, and where a statement refers to them. */

import type { Chunk, Span } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { type DefinitionKind, isBuiltInLoad } from '../../../grammar/vocabulary/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { FileView } from '../../workspace/workspace.ts'
import type { Cursor } from '../cursor.ts'

export interface NamePlace extends Span {
  readonly kind: DefinitionKind
  readonly name: string
  readonly chunk: Chunk
  readonly role: 'definition' | 'reference'
}

/** A place in some file, in the offsets of its text. */
interface FilePlace extends Span {
  readonly uri: string
}

export interface NameUse extends FilePlace {
  readonly role: NamePlace['role']
}

export interface DefinitionPlace {
  /** The stretch of the asking file that the answer is about. */
  readonly origin: Span
  readonly uri: string
  /** The whole definition. */
  readonly whole: Span
  /** Its name. */
  readonly name: Span
}

export interface Reference extends NamePlace {
  /** What the name means in the file's scope; undefined for built-in loads and unknown names. */
  readonly definition: Definition | undefined
}

function placesIn(chunk: Chunk, match: Match, into: NamePlace[]): void {
  for (const { slot, from } of match.slots) {
    if (slot.slot !== 'reference' && slot.slot !== 'defines') continue
    const item = match.statement.items[from]
    if (item?.kind !== 'word') continue
    const role = slot.slot === 'defines' ? 'definition' : 'reference'
    into.push({ kind: slot.kind, name: item.text, chunk, role, start: item.start, end: item.end })
  }
  for (const child of match.children) placesIn(chunk, child, into)
}

/** The names in some statements of a chunk and in their blocks. */
export function namePlaces(chunk: Chunk, matches: readonly Match[]): readonly NamePlace[] {
  const found: NamePlace[] = []
  for (const match of matches) placesIn(chunk, match, found)
  return found
}

export function isBuiltIn(kind: DefinitionKind, name: string): boolean {
  return kind === 'load' && isBuiltInLoad(name)
}

/** What a name means in a file. The name in a definition means that definition, even where it is a second one. */
export function resolve(view: FileView, place: NamePlace): Definition | undefined {
  if (place.role === 'definition') {
    return view.document.definitions.find(one => one.chunk === place.chunk && one.nameSpan.start === place.start)
  }
  return isBuiltIn(place.kind, place.name) ? undefined : view.scope.find(place.kind, place.name)
}

/** The name that a place touches. */
export function referenceAt(cursor: Cursor): Reference | undefined {
  const { view, chunk, match, slot, item } = cursor
  if (match === undefined || item?.kind !== 'word') return undefined
  if (slot?.slot.slot !== 'reference' && slot?.slot.slot !== 'defines') return undefined
  const role = slot.slot.slot === 'defines' ? 'definition' : 'reference'
  const place: NamePlace = { kind: slot.slot.kind, name: item.text, chunk, role, start: item.start, end: item.end }
  return { ...place, definition: resolve(view, place) }
}
