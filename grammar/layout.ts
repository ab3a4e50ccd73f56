/**
 * The layout: makes braces balance before the parser runs, so that a lost brace costs as little as possible.
 * Where braces balance they are trusted and indentation means nothing. Where they do not, indentation says
 * what was meant: a `}` alone closes the blocks that its indent says, a line that falls back to its block's
 * own indent closes the block, and a block on one line ends with the line.
 */

import type { SyntaxProblem, Token } from './tree.ts'

export interface LayoutResult {
  /** The tokens with braces that balance: virtual ones stand for lost ones, stray ones are left out. */
  readonly stream: readonly Token[]
  readonly problems: readonly SyntaxProblem[]
}

interface OpenBlock {
  /** The `{`, or undefined where it was lost. */
  readonly open: Token | undefined
  readonly indent: number
  readonly line: number
  contentIndent: number | undefined
}

interface Line {
  readonly tokens: readonly Token[]
  readonly newline: Token | undefined
  readonly indent: number
  /** The tokens that count for structure: all but a comment. */
  readonly content: readonly Token[]
}

const tabWidth = 2

/** No bench nests deeper than a handful; the bound keeps the recursive parser's stack small on any input. */
const deepest = 64

/** Whether a first word (with a second word, if any, for definitions) is known to open a block. */
export type OpensBlock = (first: string, second: string | undefined) => boolean

function indentOf(text: string, lineStart: number, firstToken: number): number {
  let indent = 0
  for (let at = lineStart; at < firstToken; at++) {
    const code = text.charCodeAt(at)
    // A byte order mark takes no room on the line.
    if (code !== 0xfeff) indent += code === 9 ? tabWidth : 1
  }
  return indent
}

function splitLines(text: string, tokens: readonly Token[]): Line[] {
  const lines: Line[] = []
  let current: Token[] = []
  let start = 0
  const finish = (newline: Token | undefined): void => {
    const first = current[0]
    lines.push({
      tokens: current,
      newline,
      indent: first === undefined ? 0 : indentOf(text, start, first.start),
      // A comment can only be the last token of its line.
      content: current.at(-1)?.kind === 'comment' ? current.slice(0, -1) : current,
    })
    current = []
  }
  for (const token of tokens) {
    if (token.kind === 'newline') {
      finish(token)
      start = token.end
    } else current.push(token)
  }
  finish(undefined)
  return lines
}

function balanced(tokens: readonly Token[]): boolean {
  let depth = 0
  for (const token of tokens) {
    if (token.kind === 'open') depth++
    else if (token.kind === 'close' && --depth < 0) return false
  }
  return depth === 0
}

/** The indent of the next line with content, or -1 at the end. */
function nextIndent(lines: readonly Line[], after: number): number {
  for (let index = after + 1; index < lines.length; index++) {
    const line = lines[index] as Line
    if (line.content.length > 0) return line.indent
  }
  return -1
}

/** The state of one run. */
interface Layout {
  readonly text: string
  readonly opensBlock: OpensBlock
  readonly lines: readonly Line[]
  /** Whether all braces of the chunk balance. */
  readonly trusted: boolean
  readonly stream: Token[]
  readonly problems: SyntaxProblem[]
  readonly blocks: OpenBlock[]
  /** Braces opened beyond the bound and not closed yet; they are no part of the tree. */
  tooDeep: number
}

/** A brace that stands for a lost one has no text. */
export const isVirtual = ({ text }: Token): boolean => text === ''

function virtual(kind: 'open' | 'close', at: number): Token {
  return { kind, text: '', canonical: '', start: at, end: at }
}

function closeVirtually(layout: Layout, at: number): void {
  const block = layout.blocks.pop() as OpenBlock
  layout.stream.push(virtual('close', at))
  // A block whose `{` was lost has had its finding already.
  if (block.open !== undefined)
    layout.problems.push({ reason: 'unclosed-block', start: block.open.start, end: block.open.end })
}

/** In a chunk that is not balanced, a line that falls back to a block's own indent closes it. */
function closeByIndent(layout: Layout, line: Line, at: number): void {
  for (;;) {
    const block = layout.blocks[layout.blocks.length - 1]
    if (block === undefined || block.contentIndent === undefined) return
    const indented = block.contentIndent > block.indent
    const mayClose = block.open === undefined || !layout.trusted
    if (!(mayClose && indented && line.indent <= block.indent)) return
    closeVirtually(layout, at)
  }
}

function stray(layout: Layout, token: Token): void {
  layout.problems.push({ reason: 'stray-close', start: token.start, end: token.end, replacement: '' })
}

/** A `}` alone on its line closes the blocks that its indent says. */
function closeAlone(layout: Layout, line: Line, brace: Token): void {
  const { blocks } = layout
  const innermost = blocks[blocks.length - 1] as OpenBlock
  const match = blocks.findLastIndex(block => block.indent === line.indent)
  // Indented like the content, it closed a block whose `{` is gone with its whole line.
  if (match < 0 && innermost.contentIndent !== undefined && line.indent >= innermost.contentIndent) {
    stray(layout, brace)
    return
  }
  while (match >= 0 && blocks.length - 1 > match) closeVirtually(layout, brace.start)
  blocks.pop()
  layout.stream.push(brace)
}

function openAt(layout: Layout, token: Token, line: Line, lineIndex: number): void {
  if (layout.blocks.length >= deepest) {
    layout.tooDeep++
    layout.problems.push({ reason: 'nested-too-deep', start: token.start, end: token.end })
    return
  }
  layout.blocks.push({ open: token, indent: line.indent, line: lineIndex, contentIndent: undefined })
  layout.stream.push(token)
}

function closeAt(layout: Layout, token: Token, line: Line, lineIndex: number): void {
  const { blocks, trusted } = layout
  if (layout.tooDeep > 0) {
    layout.tooDeep--
    return
  }
  const alone = line.content.length === 1
  const block = blocks[blocks.length - 1]
  if (block === undefined) stray(layout, token)
  else if (!trusted && !alone && block.line !== lineIndex && line.content[line.content.length - 1] === token)
    stray(layout, token)
  else if (alone && (!trusted || blocks.some(open => open.open === undefined))) closeAlone(layout, line, token)
  else {
    blocks.pop()
    layout.stream.push(token)
  }
}

/** The last token of the head of a line whose `{` is missing, or undefined where none is missing. */
function headWithoutBrace(layout: Layout, line: Line, lineIndex: number): Token | undefined {
  const [first, second] = line.content
  const last = line.content[line.content.length - 1]
  if (first?.kind !== 'word' || last === undefined) return undefined
  const name = second?.kind === 'word' ? second.text : undefined
  if (!layout.opensBlock(first.text, name)) return undefined
  const definition = !layout.opensBlock(first.text, undefined)
  // Inside a block a definition word is a key (`part trial-b2`), and a block word before a number is one (`voltage 15 V`).
  if (definition && layout.blocks.length > 0) return undefined
  if (!definition && second !== undefined && name === undefined) {
    const closesHere = !layout.trusted && last.kind === 'close'
    // `log "evening.csv"` is a head; `voltage 15 V` is a key of the same name as a block.
    if (!closesHere && second.kind !== 'string') return undefined
  }
  if (line.content.some(token => token.kind === 'open')) return undefined
  if (last.kind === 'close') {
    // `load pair cores 2 }`: the block stood on this line.
    const closes = line.content.filter(token => token.kind === 'close').length
    return layout.trusted || closes > 1 || line.content.length < 2 ? undefined : definition ? second : first
  }
  if (line.content.some(token => token.kind === 'close')) return undefined
  return nextIndent(layout.lines, lineIndex) > line.indent ? last : undefined
}

/**
 * Whether there is nothing to balance, as in almost every chunk: braces that balance and nest no deeper than the bound, and
 * no line that may be a head without its brace.
 */
function isLaidOut(tokens: readonly Token[], opensBlock: OpensBlock): boolean {
  let depth = 0
  let onLine = 0
  let hasBrace = false
  let head: Token | undefined
  let mayLack = false
  for (const token of tokens) {
    const { kind } = token
    if (kind === 'newline') {
      if (mayLack && !hasBrace) return false
      onLine = 0
      hasBrace = false
      mayLack = false
      continue
    }
    onLine++
    if (kind === 'open') {
      hasBrace = true
      if (++depth > deepest) return false
    } else if (kind === 'close') {
      hasBrace = true
      if (--depth < 0) return false
    } else if (onLine === 1) {
      head = token
      mayLack = kind === 'word' && opensBlock(token.text, undefined)
    } else if (onLine === 2 && !mayLack && depth === 0 && head?.kind === 'word') {
      mayLack = kind === 'word' && opensBlock(head.text, token.text)
    }
  }
  return depth === 0 && (hasBrace || !mayLack)
}

/**
 * Balances the braces of one chunk.
 * @param opensBlock tells the lines that count as opened without `{` before deeper-indented lines.
 */
export function layOut(text: string, tokens: readonly Token[], opensBlock: OpensBlock): LayoutResult {
  if (isLaidOut(tokens, opensBlock)) return { stream: tokens, problems: [] }
  const lines = splitLines(text, tokens)
  const layout: Layout = {
    text,
    opensBlock,
    lines,
    trusted: balanced(tokens),
    stream: [],
    problems: [],
    blocks: [],
    tooDeep: 0,
  }
  const { blocks, stream, problems } = layout
  let lastEnd = 0
  lines.forEach((line, lineIndex) => {
    const first = line.content[0]
    const last = line.content[line.content.length - 1]
    const alone = first?.kind === 'close' && line.content.length === 1
    if (first !== undefined && !alone) {
      closeByIndent(layout, line, lastEnd)
      const block = blocks[blocks.length - 1]
      if (block !== undefined && block.contentIndent === undefined && block.line !== lineIndex)
        block.contentIndent = line.indent
    }
    const head = headWithoutBrace(layout, line, lineIndex)
    for (const token of line.tokens) {
      if (token.kind === 'open') openAt(layout, token, line, lineIndex)
      else if (token.kind === 'close') closeAt(layout, token, line, lineIndex)
      else stream.push(token)
      if (token === head && blocks.length < deepest) {
        const { start } = first as Token
        problems.push({ reason: 'missing-open', start, end: head.end, replacement: `${text.slice(start, head.end)} {` })
        stream.push(virtual('open', head.end))
        blocks.push({ open: undefined, indent: line.indent, line: lineIndex, contentIndent: undefined })
      }
    }
    if (last !== undefined) {
      lastEnd = last.end
      closeOnLine(layout, lineIndex, last)
    }
    if (line.newline !== undefined) stream.push(line.newline)
  })
  while (blocks.length > 0) closeVirtually(layout, lastEnd)
  problems.sort((a, b) => a.start - b.start)
  return { stream, problems }
}

/** In a chunk that is not balanced, a block that began with content on its own line and was not closed there lost its brace there. */
function closeOnLine(layout: Layout, lineIndex: number, last: Token): void {
  if (layout.trusted) return
  for (;;) {
    const block = layout.blocks[layout.blocks.length - 1]
    if (block === undefined || block.line !== lineIndex || block.open === undefined || last === block.open) return
    closeVirtually(layout, last.end)
  }
}
