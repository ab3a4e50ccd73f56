/**
 * The formatter. It changes white space and the listed spelling variants, never order, digits, lines or
 * comments; a line in error stays byte for byte, and so does a whole definition whose braces do not balance,
 * since its indentation is the only evidence of what was meant.
 */

import { matchChunk } from './match.ts'
import { onceFor } from './once.ts'
import type { Chunk, SourceFile, SyntaxReason, Token } from './tree.ts'
import type { Match } from './values.ts'
import { isSingle } from './vocabulary/slots.ts'

export interface TextEdit {
  readonly start: number
  readonly end: number
  readonly text: string
}

const indentWidth = 2
const firstCommentColumn = 40
const commentColumnStep = 16
/** Spaces that a comment keeps to the text before it. */
const commentGap = 2

const braceReasons: ReadonlySet<SyntaxReason> = new Set([
  'unclosed-block',
  'stray-close',
  'missing-open',
  'nested-too-deep',
  'too-long',
])

/** What the vocabulary says about the layout of a chunk, by offset. */
interface Rules {
  /** Signs that keep a space behind them, by their start. */
  readonly spacedSigns: Set<number>
  /** Width of the cell that ends at an offset, and where the cell begins. */
  readonly cells: Map<number, { readonly width: number; readonly start: number }>
  /** Starts of statements that were read. */
  readonly read: Set<number>
}

function lineBreakBetween(text: string, start: number, end: number): boolean {
  for (let at = start; at < end; at++) {
    const code = text.charCodeAt(at)
    if (code === 10 || code === 13) return true
  }
  return false
}

function collectRules(chunk: Chunk): Rules {
  const rules: Rules = { spacedSigns: new Set(), cells: new Map(), read: new Set() }
  const visit = (match: Match, inManyLines: boolean): void => {
    const { statement } = match
    if (match.sound) rules.read.add(statement.start)
    let cellStart = 0
    for (const [index, { slot, from, to }] of match.slots.entries()) {
      const first = statement.items[from]
      const last = statement.items[to - 1]
      if (first === undefined || last === undefined) continue
      if (slot.slot === 'signed' && slot.layout === 'spaced') rules.spacedSigns.add(first.start)
      if (
        inManyLines &&
        slot.slot !== 'literal' &&
        isSingle(slot) &&
        slot.width !== undefined &&
        to < statement.items.length
      ) {
        rules.cells.set(last.end, { width: slot.width, start: statement.items[cellStart]?.start ?? first.start })
      }
      // A name behind a word is one cell with it.
      const isBehindWord = slot.slot === 'part-name' && match.slots[index - 1]?.slot.slot === 'literal'
      if (slot.slot !== 'literal' && !isBehindWord) cellStart = to
    }
    const block = statement.block
    const manyLines =
      block?.open !== undefined && lineBreakBetween(chunk.text, block.open.end, block.statements[0]?.start ?? block.end)
    for (const child of match.children) visit(child, manyLines)
  }
  for (const match of matchChunk(chunk)) visit(match, false)
  return rules
}

interface Line {
  readonly start: number
  readonly end: number
  readonly tokens: Token[]
}

function linesOf(chunk: Chunk): Line[] {
  const lines: Line[] = []
  let start = 0
  let tokens: Token[] = []
  for (const token of chunk.tokens) {
    if (token.kind === 'newline') {
      lines.push({ start, end: token.start, tokens })
      start = token.end
      tokens = []
    } else tokens.push(token)
  }
  lines.push({ start, end: chunk.text.length, tokens })
  return lines
}

/** Whether there is no space between two tokens of one line. */
function attached(rules: Rules, before: Token, after: Token): boolean {
  if (after.kind === 'separator') return true
  if (after.kind === 'unit') return after.canonical === 'x' && before.kind === 'number'
  return before.kind === 'sign' && !rules.spacedSigns.has(before.start)
}

function commentColumn(length: number): number {
  const steps = Math.ceil((length + commentGap - firstCommentColumn) / commentColumnStep)
  return firstCommentColumn + commentColumnStep * Math.max(0, steps)
}

/** Padding is for rows that stand alone on their line. */
function mayPad(line: Line): boolean {
  return !line.tokens.some(token => token.kind === 'separator' || token.kind === 'open' || token.kind === 'close')
}

function printLine(rules: Rules, line: Line, depth: number): string {
  // A blank line keeps no white space.
  if (line.tokens.length === 0) return ''
  const closes = line.tokens[0]?.kind === 'close' ? 1 : 0
  let text = ' '.repeat(indentWidth * Math.max(0, depth - closes))
  const pad = mayPad(line)
  const columns = new Map<number, number>()
  line.tokens.forEach((token, index) => {
    const before = line.tokens[index - 1]
    if (token.kind === 'comment') {
      if (before !== undefined) text = text.padEnd(commentColumn(text.length))
      text += token.text.trimEnd()
      return
    }
    if (before !== undefined && !attached(rules, before, token)) {
      const cell = pad ? rules.cells.get(before.end) : undefined
      const width = cell === undefined ? 0 : (columns.get(cell.start) ?? 0) + cell.width
      text = text.length < width ? text.padEnd(width) : `${text} `
    }
    columns.set(token.start, text.length)
    text += token.canonical
  })
  return text
}

/** White space alone between a carriage return and a line feed: without it two line ends would become one. */
function partsLineEnds(text: string, line: Line): boolean {
  return line.tokens.length === 0 && text.charAt(line.start - 1) === '\r' && text.charAt(line.end) === '\n'
}

/** Starts of the statements that the vocabulary could not read; their lines stay as they are. */
function unreadStarts(statements: Chunk['statements'], rules: Rules): Set<number> {
  const starts = new Set<number>()
  const visit = (list: Chunk['statements']): void => {
    for (const statement of list) {
      if (!rules.read.has(statement.start)) starts.add(statement.start)
      if (statement.block !== undefined) visit(statement.block.statements)
    }
  }
  visit(statements)
  return starts
}

/** The edits that format a chunk, one for each line that changes; offsets count from the chunk's start. */
const formatChunk = onceFor((chunk: Chunk): readonly TextEdit[] => {
  const result: TextEdit[] = []
  if (!chunk.problems.some(problem => braceReasons.has(problem.reason))) {
    const rules = collectRules(chunk)
    const unread = unreadStarts(chunk.statements, rules)
    let depth = 0
    let nextProblem = 0
    for (const line of linesOf(chunk)) {
      // Problems are in order and none goes beyond its line, so one run through both lists is enough.
      let inError = false
      for (; (chunk.problems[nextProblem]?.start ?? Infinity) <= line.end; nextProblem++) inError = true
      inError ||= line.tokens.some(token => unread.has(token.start)) || partsLineEnds(chunk.text, line)
      if (!inError) {
        const text = printLine(rules, line, depth)
        if (text !== chunk.text.slice(line.start, line.end)) result.push({ start: line.start, end: line.end, text })
      }
      for (const token of line.tokens) {
        if (token.kind === 'open') depth++
        else if (token.kind === 'close') depth--
      }
    }
  }
  return result
})

/** The edits that format a file, in the file's offsets, in order. */
export function formatEdits(file: SourceFile): TextEdit[] {
  return file.chunks.flatMap(({ start, chunk }) =>
    formatChunk(chunk).map(edit => ({ start: edit.start + start, end: edit.end + start, text: edit.text })),
  )
}

/** Applies edits that are in order and do not overlap. */
export function applyEdits(text: string, list: readonly TextEdit[]): string {
  let result = ''
  let at = 0
  for (const edit of list) {
    result += text.slice(at, edit.start) + edit.text
    at = edit.end
  }
  return result + text.slice(at)
}

/** The formatted text of a file. */
export function format(file: SourceFile): string {
  return applyEdits(file.text, formatEdits(file))
}
