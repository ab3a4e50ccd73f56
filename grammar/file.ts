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

/**
 * Offsets at which the chunks of a text begin; none beyond the end of what is read.
 * @param from one of them, which is the first; what stands before it changes nothing behind it
 * @param isKnown whether what follows from an offset on is known: then it is the last
 */
function chunkStarts(text: string, endOfRead: number, from = 0, isKnown: (start: number) => boolean = () => false) {
  const starts = [from]
  let depth = 0
  let countedTo = from
  for (let start = from; start < endOfRead; ) {
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
        if (start > from) {
          starts.push(start)
          if (isKnown(start)) break
        }
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

/** Chunks of a text, each taken from those that are given where one has the same text. */
function chunksAt(text: string, starts: readonly number[], end: number, given: readonly PlacedChunk[]): PlacedChunk[] {
  const reusable = new Map<string, Chunk[]>()
  for (const { chunk } of given) {
    if (!isRead(chunk)) continue
    const same = reusable.get(chunk.text)
    if (same === undefined) reusable.set(chunk.text, [chunk])
    else same.push(chunk)
  }
  return starts.map((start, index): PlacedChunk => {
    const own = text.slice(start, starts[index + 1] ?? end)
    return { start, chunk: reusable.get(own)?.pop() ?? parseChunk(own, opensBlock) }
  })
}

/**
 * How many signs two texts have in common at their beginnings, or at their ends. Found by halves: whole stretches are
 * compared at once, which takes a tenth of the time that signs take one by one.
 */
function signsInCommon(one: string, other: string, at: 'front' | 'back'): number {
  const piece = (text: string, from: number, to: number): string =>
    at === 'front' ? text.slice(from, to) : text.slice(text.length - to, text.length - from)
  let [low, high] = [0, Math.min(one.length, other.length) + 1]
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (piece(one, low, middle) === piece(other, low, middle)) low = middle
    else high = middle
  }
  return low
}

/** How many chunks at the beginning of a text are as they were. */
function sameAtFront(text: string, { text: before, chunks }: SourceFile): number {
  const same = signsInCommon(text, before, 'front')
  const first = chunks.findIndex(({ start, chunk }) => start + chunk.text.length > same)
  return first < 0 ? chunks.length : first
}

/** The first of the chunks up to the end of a text that are as they were, if further on or back. */
function sameAtBack(text: string, { text: before, chunks }: SourceFile): number {
  const from = before.length - signsInCommon(text, before, 'back')
  return chunks.findLastIndex(({ start }) => start < from) + 1
}

/**
 * A text that was edited: only what stands between the chunks that stayed is looked through. Where a chunk begins is seen in
 * its own text and, where that is blank behind its head, in the first line of the next; so two chunks before the edit are
 * looked through again, and behind it all follows from the first beginning that is one as before.
 */
function parseEdited(text: string, previous: SourceFile): SourceFile {
  const { chunks } = previous
  const by = text.length - previous.text.length
  const front = Math.max(0, sameAtFront(text, previous) - 2)
  const back = new Map<number, number>()
  for (let at = Math.max(front + 1, sameAtBack(text, previous)); at < chunks.length; at++)
    back.set((chunks[at] as PlacedChunk).start + by, at)
  const starts = chunkStarts(text, text.length, chunks[front]?.start ?? 0, start => back.has(start))
  const behind = back.get(starts.at(-1) as number)
  const end = behind === undefined ? text.length : (starts.pop() as number)
  const rest = behind === undefined ? [] : chunks.slice(behind)
  const between = chunksAt(text, starts, end, chunks.slice(front, behind))
  const moved = by === 0 ? rest : rest.map(({ start, chunk }) => ({ start: start + by, chunk }))
  return { text, chunks: [...chunks.slice(0, front), ...between, ...moved] }
}

/**
 * Parses a file. Never throws.
 * @param previous an earlier version of the same file; its chunks with equal text are reused as they are.
 */
export function parseFile(text: string, previous?: SourceFile): SourceFile {
  const end = readEnd(text)
  const isWhole = end === text.length && previous?.chunks.every(({ chunk }) => isRead(chunk)) === true
  if (isWhole && previous.chunks.length > 0) return parseEdited(text, previous)
  const starts = end === 0 && text.length > 0 ? [] : chunkStarts(text, end)
  const chunks = chunksAt(text, starts, end, previous?.chunks ?? [])
  if (end < text.length) chunks.push({ start: end, chunk: unreadChunk(text.slice(end)) })
  return { text, chunks }
}
