import type { Position, Range } from 'vscode-languageserver'
import type { Span } from '../../grammar/tree.ts'

/** Offsets of a text to lines and UTF-16 columns, and back. */
export interface Lines {
  position(offset: number): Position
  range(span: Span): Range
  /** Positions outside the text are brought to its nearest place; what is no number counts as 0. */
  offset(position: Position): number
  span(range: Range): Span
}

function lineStarts(text: string): number[] {
  const starts = [0]
  for (const ending of text.matchAll(/\r\n|\r|\n/g)) starts.push(ending.index + ending[0].length)
  return starts
}

/** Evicted with the document whose text it is. */
const known = new WeakMap<object, Lines>()

function bounded(value: unknown, most: number): number {
  const number = typeof value === 'number' && Number.isFinite(value) ? Math.floor(value) : 0
  return Math.max(0, Math.min(number, most))
}

function createLines(text: string): Lines {
  const starts = lineStarts(text)
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

/** The lines of a parsed text; evicted with it. */
export function linesOf(source: { readonly text: string }): Lines {
  let lines = known.get(source)
  if (lines === undefined) {
    lines = createLines(source.text)
    known.set(source, lines)
  }
  return lines
}
