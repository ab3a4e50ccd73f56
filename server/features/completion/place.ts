/** Where completion is asked for. */

import { matchChunk } from '../../../grammar/match.ts'
import { type Chunk, chunkAt, type Item, type Span, type Token } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import type { Place } from '../../../grammar/vocabulary/index.ts'
import type { FileView } from '../../workspace/workspace.ts'

/** Where completion is asked for: the block, the statement that was begun, and the word that is being typed. */
export interface TypingPlace {
  readonly chunk: Chunk
  readonly base: number
  /** In the chunk. */
  readonly offset: number
  readonly place: Place
  /** The statements whose blocks stand around the cursor, outer first. */
  readonly around: readonly Match[]
  /** The other statements of the block. */
  readonly siblings: readonly Match[]
  /** The statement that was begun, if any. */
  readonly match: Match | undefined
  /** Its items before the cursor, without what is being typed. */
  readonly before: readonly Item[]
  /** What is being typed, in the chunk; empty where nothing is. */
  readonly typed: Span
  /** A `+` that ends at the cursor: it may be a sign, or the beginning of `+-`. */
  readonly plus: Span | undefined
  /** The string in which the cursor stands. */
  readonly inString: Token | undefined
}

/** What a word or unit may be while it is typed: `°` alone is not one yet. */
const typable: ReadonlySet<Token['kind']> = new Set(['word', 'unit', 'unknown'])

const separating: ReadonlySet<Token['kind']> = new Set(['newline', 'separator', 'open', 'close'])

/** The end of a block's inside; one whose brace is lost reaches to its next sibling. */
function insideEnd(match: Match, next: Match | undefined, outerEnd: number): number {
  const block = match.statement.block
  return block?.close?.start ?? next?.statement.start ?? outerEnd
}

function blocksAround(matches: readonly Match[], offset: number, end: number): readonly Match[] {
  for (const [index, match] of matches.entries()) {
    const block = match.statement.block
    if (block === undefined) continue
    const from = block.open?.end ?? block.start
    const to = insideEnd(match, matches[index + 1], end)
    if (offset >= from && offset <= to) return [match, ...blocksAround(match.children, offset, to)]
  }
  return []
}

/** Tokens of the statement before the cursor: back to the last line end, brace or semicolon. */
function segmentBefore(tokens: readonly Token[], offset: number): readonly Token[] {
  const before = tokens.filter(token => token.start < offset)
  const last = before.findLastIndex(token => separating.has(token.kind))
  return before.slice(last + 1)
}

/** The place at an offset of a file; undefined in a comment and in an unknown block. */
export function typingPlace(view: FileView, fileOffset: number): TypingPlace | undefined {
  const { source } = view.document
  const clamped = Math.max(0, Math.min(fileOffset, source.text.length))
  const { chunk, start: base } = chunkAt(source, clamped)
  const offset = clamped - base
  const segment = segmentBefore(chunk.tokens, offset)
  const last = segment.at(-1)
  if (last?.kind === 'comment') return undefined
  const around = blocksAround(matchChunk(chunk), offset, chunk.text.length)
  const head = around.at(-1)
  const place = head === undefined ? 'file' : (head.word?.block ?? head.children[0]?.place)
  if (place === undefined) return undefined
  const siblings = head === undefined ? matchChunk(chunk) : head.children
  const first = segment[0]
  const match = first === undefined ? undefined : siblings.find(one => one.statement.start === first.start)
  const typing = last !== undefined && typable.has(last.kind) && last.end >= offset
  const typed = typing ? { start: last.start, end: Math.max(last.end, offset) } : { start: offset, end: offset }
  const closed = last?.kind === 'string' && last.end === offset && /^"[^"]*"$/.test(last.text)
  const inString = last?.kind === 'string' && last.end >= offset && !closed ? last : undefined
  const before = (match?.statement.items ?? []).flatMap((item): Item[] => {
    if (item.kind === 'number' && item.unit !== undefined && typing && item.unit.start === last.start) {
      return [{ ...item, unit: undefined, end: item.number.end }]
    }
    return item.end <= typed.start ? [item] : []
  })
  return {
    chunk,
    base,
    offset,
    place,
    around,
    siblings: siblings.filter(one => one !== match),
    match,
    before,
    typed,
    plus: last?.kind === 'sign' && last.text === '+' && last.end === offset ? last : undefined,
    inString,
  }
}
