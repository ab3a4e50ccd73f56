import type { SyntaxProblem, Token } from './tree.ts'

/**
 * The layout: makes braces balance before the parser runs, so that a lost brace costs as little as possible.
 * Where braces balance they are trusted and indentation means nothing. Where they do not, indentation says
 * what was meant: a `}` alone closes the blocks that its indent says, a line that falls back to its block's
 * own indent closes the block, and a block on one line ends with the line.
 */

/** A token of the balanced stream; virtual braces stand for lost ones, stray ones are left out of the tree. */
export interface LayoutToken {
  readonly token: Token
  readonly role: 'real' | 'virtual' | 'stray'
}

export interface LayoutResult {
  readonly stream: readonly LayoutToken[]
  readonly problems: readonly SyntaxProblem[]
}

interface OpenBlock {
  /** The `{`, or undefined where it was lost. */
  readonly open: Token | undefined
  /** Offset at which an error about the block is shown when no brace can carry it. */
  readonly headEnd: number
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

function indentOf(text: string, lineStart: number, firstToken: number): number {
  let indent = 0
  for (let at = lineStart; at < firstToken; at++) indent += text.charCodeAt(at) === 9 ? tabWidth : 1
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
      content: current.filter(token => token.kind !== 'comment'),
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

function nextIndent(lines: readonly Line[], after: number): number {
  for (let index = after + 1; index < lines.length; index++) {
    const line = lines[index] as Line
    if (line.content.length > 0) return line.indent
  }
  return -1
}

/**
 * Balances the braces of one chunk.
 * @param opensBlock whether a first word (with a second word, if any, for definitions) is known to open a block;
 *   such a line without `{` before deeper-indented lines counts as opened.
 */
export function layOut(text: string, tokens: readonly Token[], opensBlock: (first: string, second: string | undefined) => boolean): LayoutResult {
  const stream: LayoutToken[] = []
  const problems: SyntaxProblem[] = []
  const lines = splitLines(text, tokens)
  const trusted = balanced(tokens)
  const blocks: OpenBlock[] = []

  const closeVirtually = (at: number): void => {
    const block = blocks.pop() as OpenBlock
    stream.push({ token: { kind: 'close', text: '', canonical: '', start: at, end: at }, role: 'virtual' })
    // A block whose `{` was lost has had its finding already.
    if (block.open !== undefined) problems.push({ reason: 'unclosed-block', start: block.open.start, end: block.open.end })
  }

  /** In a chunk that is not balanced, lines that fall back to a block's own indent close it. */
  const closeByIndent = (line: Line, at: number): void => {
    for (;;) {
      const block = blocks[blocks.length - 1]
      if (block === undefined || block.contentIndent === undefined) return
      const indented = block.contentIndent > block.indent
      const mayClose = block.open === undefined || !trusted
      if (!(mayClose && indented && line.indent <= block.indent)) return
      closeVirtually(at)
    }
  }

  const closeAlone = (line: Line, brace: Token): void => {
    let match = -1
    for (let index = blocks.length - 1; index >= 0 && match < 0; index--) {
      if ((blocks[index] as OpenBlock).indent === line.indent) match = index
    }
    if (match < 0) match = blocks.length - 1
    while (blocks.length - 1 > match) closeVirtually(brace.start)
    blocks.pop()
    stream.push({ token: brace, role: 'real' })
  }

  let lastEnd = 0
  lines.forEach((line, lineIndex) => {
    const first = line.content[0]
    const aloneBrace = first?.kind === 'close' && line.content.length === 1
    if (first !== undefined) {
      if (!aloneBrace) closeByIndent(line, lastEnd)
      const block = blocks[blocks.length - 1]
      if (block !== undefined && block.contentIndent === undefined && !aloneBrace && block.line !== lineIndex) block.contentIndent = line.indent
    }
    for (const token of line.tokens) {
      if (token.kind === 'open' && blocks.length >= deepest) {
        problems.push({ reason: 'nested-too-deep', start: token.start, end: token.end })
        stream.push({ token, role: 'stray' })
      } else if (token.kind === 'open') {
        blocks.push({ open: token, headEnd: token.end, indent: line.indent, line: lineIndex, contentIndent: undefined })
        stream.push({ token, role: 'real' })
      } else if (token.kind === 'close') {
        const block = blocks[blocks.length - 1]
        const stray = block === undefined || (!trusted && !aloneBrace && block.line !== lineIndex && line.content.at(-1) === token)
        if (stray) {
          problems.push({ reason: 'stray-close', start: token.start, end: token.end, replacement: '' })
          stream.push({ token, role: 'stray' })
        } else if (aloneBrace && (!trusted || blocks.some(open => open.open === undefined))) closeAlone(line, token)
        else {
          blocks.pop()
          stream.push({ token, role: 'real' })
        }
      } else stream.push({ token, role: 'real' })
    }
    const last = line.content.at(-1)
    if (last !== undefined) {
      lastEnd = last.end
      if (!trusted) {
        // A block that began with content on its own line and was not closed there lost its brace on that line.
        while (blocks.length > 0) {
          const block = blocks[blocks.length - 1] as OpenBlock
          if (block.line !== lineIndex || last === block.open) break
          if (block.open === undefined) break
          closeVirtually(last.end)
        }
      }
      const second = line.content[1]
      const headed =
        first?.kind === 'word' &&
        last.kind !== 'open' &&
        !line.content.some(token => token.kind === 'open' || token.kind === 'close') &&
        opensBlock(first.text, second?.kind === 'word' ? second.text : undefined)
      if (headed && nextIndent(lines, lineIndex) > line.indent) {
        problems.push({ reason: 'missing-open', start: (first as Token).start, end: last.end, replacement: `${text.slice((first as Token).start, last.end)} {` })
        stream.push({ token: { kind: 'open', text: '', canonical: '', start: last.end, end: last.end }, role: 'virtual' })
        blocks.push({ open: undefined, headEnd: last.end, indent: line.indent, line: lineIndex, contentIndent: undefined })
      }
    }
    if (line.newline !== undefined) stream.push({ token: line.newline, role: 'real' })
  })
  while (blocks.length > 0) closeVirtually(lastEnd)
  problems.sort((a, b) => a.start - b.start)
  return { stream, problems }
}
