/** Words by what they mean at their place; the syntax colouring, which goes line by line, cannot tell them apart. */

import { matchChunk } from '../../grammar/match.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { type Piece, piecesOf } from './pieces.ts'

/** `kind`: the word that opens a definition. */
export type TokenMeaning = 'kind' | 'key' | 'word' | 'choice' | 'name' | 'code'

export interface MeaningToken extends Span {
  readonly meaning: TokenMeaning
  /** A name where it is defined. */
  readonly defines: boolean
}

const meanings: Readonly<Record<string, TokenMeaning>> = {
  literal: 'word',
  choice: 'choice',
  reference: 'name',
  defines: 'name',
  'part-name': 'name',
  code: 'code',
  setting: 'code',
}

function collect(match: Match, into: MeaningToken[]): void {
  const { items } = match.statement
  const first = items[0]
  if (match.word !== undefined && match.word.word !== '' && first?.kind === 'word') {
    const kind = match.place === 'file' && match.word.block !== undefined
    into.push({ meaning: kind ? 'kind' : 'key', defines: false, start: first.start, end: first.end })
  }
  for (const { slot, from } of match.slots) {
    const meaning = meanings[slot.slot]
    const item = items[from]
    if (meaning === undefined || item?.kind !== 'word') continue
    const isGroup = slot.slot === 'part-name' && slot.of === 'group' && slot.after !== true
    into.push({ meaning, defines: slot.slot === 'defines' || isGroup, start: item.start, end: item.end })
  }
  for (const child of match.children) collect(child, into)
}

function tokensOf(chunk: Chunk): readonly MeaningToken[] {
  const list: MeaningToken[] = []
  for (const match of matchChunk(chunk)) collect(match, list)
  return list.sort((a, b) => a.start - b.start)
}

/** The words of a file that have a meaning, in order. */
export function meaningTokens(workspace: Workspace, uri: string): Iterable<Piece<MeaningToken>> {
  return piecesOf(workspace, uri, tokensOf)
}
