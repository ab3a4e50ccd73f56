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

function lineStarts({ text, chunks }: Text): readonly number[] {
  if (chunks === undefined) return [0, ...laterStarts(text)]
  const starts = [0]
  // A chunk begins where a line begins, so no line ending is cut in two.
  for (const { chunk, start } of chunks) for (const at of laterStartsIn(chunk)) starts.push(start + at)
  return starts
}

function bounded(value: unknown, most: number): number {
  const number = typeof value === 'number' && Number.isFinite(value) ? Math.floor(value) : 0
  return Math.max(0, Math.min(number, most))
}

function createLines(of: Text): Lines {
  const { text } = of
  const starts = lineStarts(of)
  const lineEnd = (line: number): number => {
    let end = starts[line + 1] ?? text.length
    while (end > (starts[line] ?? 0) && /[\r\n]/.test(text.charAt(end - 1))) end--
    return end
  }
  const position = (offset: number): Position => {
    const at = bounded(offset, text.length)
    let low = 0
    let high = starts.length - 1
    while (low < high) {
      const middle = (low + high + 1) >> 1
      if ((starts[middle] ?? 0) <= at) low = middle
      else high = middle - 1
    }
    return { line: low, character: at - (starts[low] ?? 0) }
  }
  const offset = ({ line, character }: Position): number => {
    if (typeof line === 'number' && line >= starts.length) return text.length
    const row = bounded(line, starts.length - 1)
    const start = starts[row] ?? 0
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

/** The lines of a parsed text. */
export const linesOf: (source: Text) => Lines = onceFor(createLines)
