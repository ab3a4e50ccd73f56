/** Offsets of a text to lines and columns, and back. */

import type { Position, Range } from 'vscode-languageserver'
import type { Chunk, PlacedChunk, Span } from '../../grammar/tree.ts'
import { onceFor } from '../service.ts'

/** Offsets of a text to lines and UTF-16 columns, and back. */
export interface Lines {
  position(offset: number): Position
  range(span: Span): Range
  /** Positions outside the text are brought to its nearest place; what is no number counts as 0. */
  offset(position: Position): number
  span(range: Range): Span
}

/** A text, and the chunks that it is made of where it is a parsed one. */
interface Text {
  readonly text: string
  readonly chunks?: readonly PlacedChunk[]
}

/** Where the lines of a text begin but for the first. */
function laterStarts(text: string): readonly number[] {
  const starts: number[] = []
  if (text.includes('\r')) {
    for (const ending of text.matchAll(/\r\n|\r|\n/g)) starts.push(ending.index + ending[0].length)
  } else for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) starts.push(at + 1)
  return starts
}

/** Once for a chunk, so that after an edit only the edited one is looked through. */
const laterStartsIn = onceFor((chunk: Chunk) => laterStarts(chunk.text))

/** How many lines a chunk ends. */
export function lineCount(chunk: Chunk): number {
  return laterStartsIn(chunk).length
}

/** Where the lines of a text begin. */
interface Starts {
  readonly count: number
  /** Of a line that there is. */
  readonly of: (line: number) => number
  /** The line that an offset stands on. */
  readonly lineAt: (offset: number) => number
}

/** The last of so many things whose place is not behind another; the first where all are. */
function lastUpTo(count: number, placeOf: (index: number) => number, place: number): number {
  let low = 0
  let high = count - 1
  while (low < high) {
    const middle = (low + high + 1) >> 1
    if (placeOf(middle) <= place) low = middle
    else high = middle - 1
  }
  return low
}

function startsIn(text: string): Starts {
  const starts = [0, ...laterStarts(text)]
  const of = (line: number): number => starts[line] as number
  return { count: starts.length, of, lineAt: offset => lastUpTo(starts.length, of, offset) }
}

/** A chunk begins where a line begins, so no line ending is cut in two; an edit costs a step for each chunk, not for each line. */
function startsInChunks(chunks: readonly PlacedChunk[]): Starts {
  let count = 1
  const firstLines = chunks.map(({ chunk }) => {
    const first = count - 1
    count += lineCount(chunk)
    return first
  })
  const within = (index: number, line: number): number => {
    const { chunk, start } = chunks[index] as PlacedChunk
    return line === 0 ? start : start + (laterStartsIn(chunk)[line - 1] as number)
  }
  const firstOf = (index: number): number => firstLines[index] as number
  return {
    count,
    of: line => {
      const index = lastUpTo(chunks.length, firstOf, line)
      return within(index, line - firstOf(index))
    },
    lineAt: offset => {
      const index = lastUpTo(chunks.length, at => within(at, 0), offset)
      const { chunk } = chunks[index] as PlacedChunk
      return firstOf(index) + lastUpTo(lineCount(chunk) + 1, line => within(index, line), offset)
    },
  }
}

function bounded(value: unknown, most: number): number {
  const number = typeof value === 'number' && Number.isFinite(value) ? Math.floor(value) : 0
  return Math.max(0, Math.min(number, most))
}

function createLines({ text, chunks }: Text): Lines {
  const starts = chunks === undefined || chunks.length === 0 ? startsIn(text) : startsInChunks(chunks)
  const lineEnd = (line: number): number => {
    let end = line + 1 < starts.count ? starts.of(line + 1) : text.length
    while (end > starts.of(line) && /[\r\n]/.test(text.charAt(end - 1))) end--
    return end
  }
  const position = (offset: number): Position => {
    const at = bounded(offset, text.length)
    const line = starts.lineAt(at)
    return { line, character: at - starts.of(line) }
  }
  const offset = ({ line, character }: Position): number => {
    if (typeof line === 'number' && line >= starts.count) return text.length
    const row = bounded(line, starts.count - 1)
    const start = starts.of(row)
    return start + bounded(character, lineEnd(row) - start)
  }
  return {
    position,
    offset,
    range: ({ start, end }) => ({ start: position(start), end: position(end) }),
    span: ({ start, end }) => {
      const [a, b] = [offset(start), offset(end)]
      return { start: Math.min(a, b), end: Math.max(a, b) }
    },
  }
}

/** A range so many lines further down. */
export function lowerRange({ start, end }: Range, by: number): Range {
  return {
    start: { line: start.line + by, character: start.character },
    end: { line: end.line + by, character: end.character },
  }
}

/** The lines of a parsed text. */
export const linesOf: (source: Text) => Lines = onceFor(createLines)
