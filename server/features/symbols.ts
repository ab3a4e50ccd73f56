/** The outline of a file: definitions, and in them keys and tables. */

import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import type { DefinitionKind } from '../../grammar/vocabulary/index.ts'
import { headSpan } from '../checks/support/place.ts'
import { type Definition, readChunk } from '../semantic/definitions.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { moved, type Piece, piecesOf } from './pieces.ts'

export interface OutlineSymbol extends Span {
  readonly name: string
  readonly detail: string
  readonly kind: DefinitionKind | 'key' | 'table'
  /** The stretch to select when one goes there. */
  readonly selection: Span
  readonly children: readonly OutlineSymbol[]
}

function spanOf({ start, end }: Span): Span {
  return { start, end }
}

/** A statement's head as it was written, on one line. */
function headText(chunk: Chunk, match: Match, from: number): string {
  const { end } = headSpan(match.statement)
  return chunk.text.slice(from, end).trim().replace(/\s+/g, ' ')
}

function keySymbol(chunk: Chunk, match: Match): OutlineSymbol | undefined {
  const first = match.statement.items[0]
  if (match.word === undefined || first === undefined || first.kind !== 'word' || match.word.word === '')
    return undefined
  if (['note', 'source', 'allow'].includes(match.word.word)) return undefined
  return {
    ...spanOf(match.statement),
    name: match.word.word,
    detail: headText(chunk, match, first.end),
    kind: match.word.block === undefined ? 'key' : 'table',
    selection: spanOf(first),
    children: match.children.flatMap(child => keySymbol(chunk, child) ?? []),
  }
}

function definitionSymbol(definition: Definition): OutlineSymbol {
  const { chunk, match, kind, name, nameSpan } = definition
  return {
    ...spanOf(match.statement),
    name,
    detail: kind,
    kind,
    selection: nameSpan,
    children: match.children.flatMap(child => keySymbol(chunk, child) ?? []),
  }
}

/** The outline of a file in the order of its text. */
export function documentSymbols(workspace: Workspace, uri: string): Iterable<Piece<OutlineSymbol>> {
  return piecesOf(workspace, uri, chunk => readChunk(chunk).definitions.map(definitionSymbol))
}

/** A definition of some loaded file. */
export interface FoundSymbol extends Span {
  readonly name: string
  readonly kind: DefinitionKind
  readonly uri: string
}

/** Whether the letters of a query stand in a name in their order. */
function fits(name: string, query: string): boolean {
  let at = 0
  for (const letter of query.toLowerCase()) {
    at = name.indexOf(letter, at) + 1
    if (at === 0) return false
  }
  return true
}

/** The definitions of all loaded files whose names have the letters of a query in their order. */
export function workspaceSymbols(workspace: Workspace, query: string): readonly FoundSymbol[] {
  const found = [...workspace.documents()].flatMap(({ uri, definitions, starts }) =>
    definitions
      .filter(({ name }) => fits(name, query))
      .map(({ name, kind, chunk, nameSpan }) => ({ name, kind, uri, ...moved(starts.get(chunk) ?? 0, nameSpan) })),
  )
  return found.sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : a.uri < b.uri ? -1 : 1))
}
