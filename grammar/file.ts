/**
 * A file is cut into chunks before it is parsed: one for each line that opens a definition (`word name … {`),
 * and one for what stands before the first. Such a line closes every open block, so a chunk's tree depends on
 * its own text alone; a chunk whose text did not change is reused, wherever it moved.
 */

import { parseChunk } from './parser.ts'
import { isLineEnd, isSpace } from './tokens.ts'
import type { Chunk, PlacedChunk, SourceFile, Token } from './tree.ts'
import { blockWords, definitionWords, mostCharacters, opensBlock } from './vocabulary/index.ts'

const definitionHead = new RegExp(`(?:${definitionWords.join('|')})[^\\S\\r\\n\\u2028\\u2029]+[\\p{L}_]`, 'uy')
const wordAt = /[\p{L}_][\p{L}\p{N}_-]*/uy

interface TextLine {
  readonly start: number
  /** Where the first character stands that is not white space; the line's end for a blank one. */
  readonly first: number
  readonly end: number
}

/** Runs through the lines of a text from an offset on. A line of its own code: `^` would match after U+2028 too. */
function lineAt(text: string, start: number): TextLine {
  let first = start
  while (first < text.length && isSpace(text.charCodeAt(first))) first++
  let end = first
  while (end < text.length && !isLineEnd(text.charCodeAt(end))) end++
  return { start, first, end }
}

function afterLine(text: string, line: TextLine): number {
  return text.startsWith('\r\n', line.end) ? line.end + 2 : line.end + 1
}

/** What a line's head comes to: an opening brace, a line that holds more than a head, or the head alone. */
function headEnding(text: string, line: TextLine): 'brace' | 'more' | 'bare' {
  let words = 0
  for (let at = line.first; at < line.end; ) {
    const code = text.charAt(at)
    if (code === '#') return 'bare'
    if (code === '{') return 'brace'
    if (code === ';' || code === '}') return 'more'
    if (code === '"') {
      do at++
      while (at < line.end && text.charAt(at) !== '"')
      at++
      continue
    }
    wordAt.lastIndex = at
    const word = wordAt.exec(text)?.[0]
    if (word === undefined) at++
    else {
      // `room shed steps {` is a key and a block whose line end was lost, not a definition.
      if (++words === 3 && blockWords.has(word)) return 'more'
      at += word.length
    }
  }
  return 'bare'
}

/** Whether deeper-indented content follows a line at the margin, so that the line evidently opened a block. */
function deeperAfter(text: string, line: TextLine): boolean {
  for (let start = afterLine(text, line); start < text.length; ) {
    const next = lineAt(text, start)
    const code = text.charAt(next.first)
    if (next.first < next.end && code !== '#') return next.first > next.start && code !== '}'
    start = afterLine(text, next)
  }
  return false
}

/** How many blocks a stretch of whole lines leaves open; strings and comments do not count. */
function depthOf(text: string, start: number, end: number): number {
  let depth = 0
  for (let at = start; at < end; at++) {
    const code = text.charAt(at)
    if (code === '{') depth++
    else if (code === '}') depth--
    else if (code === '"') {
      do at++
      while (at < end && text.charAt(at) !== '"' && !isLineEnd(text.charCodeAt(at)))
    } else if (code === '#') while (at < end && !isLineEnd(text.charCodeAt(at))) at++
  }
  return depth
}

/** Offsets at which the chunks of a text begin; the first is always 0; none beyond the end of what is read. */
function chunkStarts(text: string, endOfRead: number): number[] {
  const starts = [0]
  let depth = 0
  let countedTo = 0
  for (let start = 0; start < endOfRead; ) {
    const line = lineAt(text, start)
    definitionHead.lastIndex = line.first
    if (definitionHead.test(text)) {
      const ending = headEnding(text, line)
      let opens = ending === 'brace'
      if (ending === 'bare' && line.first === line.start && deeperAfter(text, line)) {
        depth += depthOf(text, countedTo, start)
        countedTo = start
        // Within braces it is a key at the margin.
        opens = depth <= 0
      }
      if (opens) {
        if (start > 0) starts.push(start)
        depth = 0
        countedTo = start
      }
    }
    start = afterLine(text, line)
  }
  return starts
}

/** So much of the first line that is not read is underlined. */
const mostShown = 80

/** Where the lines end that are read: of a text beyond the bound, before the line that crosses it. */
function readEnd(text: string): number {
  if (text.length <= mostCharacters) return text.length
  let end = mostCharacters
  while (end > 0 && !isLineEnd(text.charCodeAt(end - 1))) end--
  return end
}

/** What is not read of a text: one token, and the finding that says so. */
function unreadChunk(text: string): Chunk {
  const whole = { start: 0, end: text.length }
  const token: Token = { kind: 'unknown', text, canonical: text, ...whole }
  const firstLine = { start: 0, end: Math.min(lineAt(text, 0).end, mostShown) }
  return { text, tokens: [token], statements: [], problems: [{ reason: 'too-long', ...firstLine }] }
}

const isRead = ({ problems }: Chunk): boolean => problems[0]?.reason !== 'too-long'

/**
 * Parses a file. Never throws.
 * @param previous an earlier version of the same file; its chunks with equal text are reused as they are.
 */
export function parseFile(text: string, previous?: SourceFile): SourceFile {
  const reusable = new Map<string, Chunk[]>()
  for (const { chunk } of previous?.chunks ?? []) {
    if (!isRead(chunk)) continue
    const same = reusable.get(chunk.text)
    if (same === undefined) reusable.set(chunk.text, [chunk])
    else same.push(chunk)
  }
  const end = readEnd(text)
  const starts = end === 0 && text.length > 0 ? [] : chunkStarts(text, end)
  const chunks = starts.map((start, index): PlacedChunk => {
    const own = text.slice(start, starts[index + 1] ?? end)
    return { start, chunk: reusable.get(own)?.pop() ?? parseChunk(own, opensBlock) }
  })
  if (end < text.length) chunks.push({ start: end, chunk: unreadChunk(text.slice(end)) })
  return { text, chunks }
}
