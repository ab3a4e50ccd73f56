/**
 * The formatter. It changes white space and the listed spelling variants, never order, digits, lines or
 * comments; a line in error stays byte for byte, and so does a whole definition whose braces do not balance,
 * since its indentation is the only evidence of what was meant.
 */

import { matchChunk } from './match.ts'
import { onceFor } from './once.ts'
import type { Chunk, SourceFile, SyntaxReason, Token } from './tree.ts'
import type { Match, SlotItems } from './values.ts'
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
  /** Starts of statements that the vocabulary could not read; their lines stay as they are. */
  readonly unread: Set<number>
}

function lineBreakBetween(text: string, start: number, end: number): boolean {
  for (let at = start; at < end; at++) {
    const code = text.charCodeAt(at)
    if (code === 10 || code === 13) return true
  }
  return false
}

function collectRules(chunk: Chunk): Rules {
  const rules: Rules = { spacedSigns: new Set(), cells: new Map(), unread: new Set() }
  let isRead = true
  const visit = (match: Match, inManyLines: boolean): void => {
    const { statement, slots } = match
    const { items, block } = statement
    if (!match.sound) isRead = false
    let cellStart = 0
    for (let index = 0; index < slots.length; index++) {
      const { slot, from, to } = slots[index] as SlotItems
      const first = items[from]
      const last = items[to - 1]
      if (first === undefined || last === undefined) continue
      if (slot.slot === 'signed' && slot.layout === 'spaced') rules.spacedSigns.add(first.start)
      if (slot.slot === 'literal') continue
      if (inManyLines && isSingle(slot) && slot.width !== undefined && to < items.length) {
        rules.cells.set(last.end, { width: slot.width, start: items[cellStart]?.start ?? first.start })
      }
      // A name behind a word is one cell with it.
      const isBehindWord = slot.slot === 'part-name' && slots[index - 1]?.slot.slot === 'literal'
      if (!isBehindWord) cellStart = to
    }
    if (block === undefined) return
    const manyLines =
      block.open !== undefined && lineBreakBetween(chunk.text, block.open.end, block.statements[0]?.start ?? block.end)
    for (const child of match.children) visit(child, manyLines)
  }
  const matches = matchChunk(chunk)
  for (const match of matches) visit(match, false)
  if (!isRead) noteUnread(chunk.statements, matches, rules.unread)
  return rules
}

/** Notes the statements that were not read: in error, or in a block that nobody knows. */
function noteUnread(statements: Chunk['statements'], matches: readonly Match[], into: Set<number>): void {
  const matchOf = new Map(matches.map(match => [match.statement, match]))
  for (const statement of statements) {
    const match = matchOf.get(statement)
    if (match?.sound !== true) into.add(statement.start)
    if (statement.block !== undefined) noteUnread(statement.block.statements, match?.children ?? [], into)
  }
}

const space = 0x20

/** A line of a chunk, and which of the chunk's tokens stand on it: `to` is exclusive. */
interface Line {
  readonly start: number
  readonly end: number
  readonly from: number
  readonly to: number
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

/** A token as it is printed. */
const printed = ({ kind, text, canonical }: Token): string => (kind === 'comment' ? text.trimEnd() : canonical)

/** The columns at which the tokens of a line are printed. @param into where they go, from the first on */
function setColumns(rules: Rules, tokens: readonly Token[], { from, to }: Line, depth: number, into: number[]): void {
  let hasBreak = false
  for (let at = from; at < to; at++) {
    const { kind } = tokens[at] as Token
    if (kind === 'separator' || kind === 'open' || kind === 'close') hasBreak = true
  }
  const closes = tokens[from]?.kind === 'close' ? 1 : 0
  let end = indentWidth * Math.max(0, depth - closes)
  for (let at = from; at < to; at++) {
    const token = tokens[at] as Token
    const before = at === from ? undefined : (tokens[at - 1] as Token)
    let column = end
    if (before !== undefined && token.kind === 'comment') column = commentColumn(end)
    else if (before !== undefined && !attached(rules, before, token)) {
      // Padding is for rows that stand alone on their line.
      const cell = hasBreak ? undefined : rules.cells.get(before.end)
      let first = at - 1
      while (first > from && cell !== undefined && (tokens[first] as Token).start > cell.start) first--
      const width = cell === undefined ? 0 : (into[first - from] ?? 0) + cell.width
      column = end < width ? width : end + 1
    }
    into[at - from] = column
    end = column + printed(token).length
  }
}

/** Whether a line stands there as it is printed, with spaces alone between its tokens: a tab is one sign wide as well. */
function isPrinted(text: string, tokens: readonly Token[], line: Line, columns: readonly number[]): boolean {
  const { start, end, from, to } = line
  let endOfText = start
  for (let at = from; at < to; at++) {
    const token = tokens[at] as Token
    if (token.start - start !== columns[at - from] || token.text !== printed(token)) return false
    while (endOfText < token.start) if (text.charCodeAt(endOfText++) !== space) return false
    endOfText = token.end
  }
  return endOfText === end
}

function printLine(tokens: readonly Token[], { from, to }: Line, columns: readonly number[]): string {
  let text = ''
  for (let at = from; at < to; at++) text = text.padEnd(columns[at - from] as number) + printed(tokens[at] as Token)
  return text
}

/** White space alone between a carriage return and a line feed: without it two line ends would become one. */
function partsLineEnds(text: string, { start, end, from, to }: Line): boolean {
  return from === to && text.charAt(start - 1) === '\r' && text.charAt(end) === '\n'
}

/** The edits that format a chunk, one for each line that changes; offsets count from the chunk's start. */
const formatChunk = onceFor((chunk: Chunk): readonly TextEdit[] => {
  const result: TextEdit[] = []
  if (chunk.problems.some(problem => braceReasons.has(problem.reason))) return result
  const { text, tokens, problems } = chunk
  const rules = collectRules(chunk)
  const columns: number[] = []
  let [depth, nextProblem, start] = [0, 0, 0]
  for (let from = 0, to = 0; to <= tokens.length; from = ++to) {
    let inError = false
    let after = depth
    while (to < tokens.length && tokens[to]?.kind !== 'newline') {
      const token = tokens[to++] as Token
      if (token.kind === 'open') after++
      else if (token.kind === 'close') after--
      if (rules.unread.size > 0 && rules.unread.has(token.start)) inError = true
    }
    const line = { start, end: tokens[to]?.start ?? text.length, from, to }
    // Problems are in order and none goes beyond its line, so one run through both lists is enough.
    for (; (problems[nextProblem]?.start ?? Infinity) <= line.end; nextProblem++) inError = true
    if (!inError && !partsLineEnds(text, line)) {
      setColumns(rules, tokens, line, depth, columns)
      if (!isPrinted(text, tokens, line, columns))
        result.push({ start, end: line.end, text: printLine(tokens, line, columns) })
    }
    depth = after
    start = tokens[to]?.end ?? text.length
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
