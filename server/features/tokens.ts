import { matchChunk } from '../../grammar/match.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import type { Workspace } from '../workspace/workspace.ts'

/** Words by what they mean at their place; the syntax colouring, which goes line by line, cannot tell them apart. */

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
    into.push({ meaning, defines: slot.slot === 'defines', start: item.start, end: item.end })
  }
  for (const child of match.children) collect(child, into)
}

/** Evicted with the chunk. */
const known = new WeakMap<Chunk, readonly MeaningToken[]>()

function tokensOf(chunk: Chunk): readonly MeaningToken[] {
  let found = known.get(chunk)
  if (found === undefined) {
    const list: MeaningToken[] = []
    for (const match of matchChunk(chunk)) collect(match, list)
    found = list.sort((a, b) => a.start - b.start)
    known.set(chunk, found)
  }
  return found
}

/** The words of a file that have a meaning, in order, within a stretch of it. */
export function meaningTokens(workspace: Workspace, uri: string, within: Span): readonly MeaningToken[] {
  const document = workspace.document(uri)
  if (document === undefined) return []
  return document.source.chunks.flatMap(({ chunk, start }) => {
    if (start > within.end || start + chunk.text.length < within.start) return []
    return tokensOf(chunk)
      .map(token => ({ ...token, start: token.start + start, end: token.end + start }))
      .filter(token => token.start < within.end && token.end > within.start)
  })
}
