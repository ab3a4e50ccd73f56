/** The lines of a log, read in pieces of whole lines, and their cells. Nothing here grows with the file. */

import Papa from 'papaparse'
import type { Delimiter } from './mapping.ts'
import type { LogFile } from './source.ts'

/** Whole lines, without the last line end. */
export interface LinePiece {
  readonly text: string
  /** Number of its first line, from 1. */
  readonly firstLine: number
  /** Bytes read so far. */
  readonly bytes: number
}

type Decoder = InstanceType<typeof TextDecoder>

/** A line longer than this is no log, and would have to be kept whole. */
const LONGEST_LINE = 1_000_000

/** The share of zeros at even and at odd places. */
function nulls(bytes: Uint8Array): readonly [even: number, odd: number] {
  const length = Math.min(bytes.length, 4096)
  let [even, odd] = [0, 0]
  for (let at = bytes.indexOf(0); at >= 0 && at < length; at = bytes.indexOf(0, at + 1)) {
    if (at % 2 === 0) even += 2 / length
    else odd += 2 / length
  }
  return [even, odd]
}

/** Whether the first characters are such as a logger writes: of control characters white space alone. */
function isText(text: string): boolean {
  for (let at = 0; at < Math.min(text.length, 4096); at++) {
    const code = text.charCodeAt(at)
    if (code < 9 || (code > 13 && code < 32)) return false
  }
  return true
}

/**
 * How the bytes spell text: by the byte order mark, or by where zeros stand without one, else UTF-8 where the first piece is valid, else the old
 * one-byte encoding that loggers of some systems still write. Throws where it is no text at all.
 */
function decoderFor(first: Uint8Array): Decoder {
  if (first[0] === 0xff && first[1] === 0xfe) return new TextDecoder('utf-16le')
  if (first[0] === 0xfe && first[1] === 0xff) return new TextDecoder('utf-16be')
  const [even, odd] = nulls(first)
  if (odd > 0.3 && even < 0.05) return new TextDecoder('utf-16le')
  if (even > 0.3 && odd < 0.05) return new TextDecoder('utf-16be')
  if (even + odd > 0) throw new Error('it is no text')
  try {
    // A character cut at the end of the piece is no fault.
    new TextDecoder('utf-8', { fatal: true }).decode(first, { stream: true })
    return new TextDecoder('utf-8')
  } catch {
    return new TextDecoder('windows-1252')
  }
}

function linesIn(text: string): number {
  let count = 1
  for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) count++
  return count
}

/** The length of the longest line of a text. */
export function longestLine(text: string): number {
  let most = 0
  let start = 0
  for (let end = text.indexOf('\n'); end >= 0; end = text.indexOf('\n', start)) {
    most = Math.max(most, end - start)
    start = end + 1
  }
  return Math.max(most, text.length - start)
}

/** Whether carriage returns alone end the lines of a text; undefined where it does not show yet. */
function endsBare(text: string): boolean | undefined {
  const at = text.search(/[\r\n]/)
  if (at < 0 || at === text.length - 1) return undefined
  return text.charAt(at) === '\r' && text.charAt(at + 1) !== '\n'
}

/** The file in pieces of whole lines. Line ends are `\n` in all of them. */
export async function* linePieces(file: LogFile): AsyncIterable<LinePiece> {
  let decoder: Decoder | undefined
  let rest = ''
  let firstLine = 1
  let bytes = 0
  let bare: boolean | undefined
  const cut = (lines: string): LinePiece => {
    // The last line has lost its line feed already.
    const text = lines.includes('\r') ? lines.replaceAll('\r\n', '\n').replace(/\r$/, '') : lines
    const piece = { text, firstLine, bytes }
    firstLine += linesIn(text)
    return piece
  }
  for await (const chunk of file.chunks()) {
    bytes += chunk.length
    decoder ??= decoderFor(chunk)
    rest += decoder.decode(chunk, { stream: true })
    if (firstLine === 1 && !isText(rest)) throw new Error('it is no text')
    bare ??= endsBare(rest)
    if (bare) rest = rest.replaceAll('\r', '\n')
    const end = rest.lastIndexOf('\n')
    if (end >= 0) {
      yield cut(rest.slice(0, end))
      rest = rest.slice(end + 1)
    } else if (rest.length > LONGEST_LINE) {
      yield cut(rest)
      rest = ''
    }
  }
  rest += decoder?.decode() ?? ''
  if (rest !== '') yield cut(rest)
}

/** The cells of a line, or undefined where a quote is never closed. */
export type Cells = readonly string[] | undefined

const withSingleSpaces = (line: string): string =>
  line
    .split(' ')
    .filter(part => part !== '')
    .join(' ')

function parse(text: string, delimiter: Delimiter): Papa.ParseResult<string[]> {
  // Runs of spaces align columns and stand for one.
  const input = delimiter === ' ' ? text.split('\n').map(withSingleSpaces).join('\n') : text
  return Papa.parse<string[]>(input, { delimiter, newline: '\n', skipEmptyLines: false })
}

/**
 * The cells of each line of a piece. A cell does not go beyond its line: a quote that is not closed costs its line
 * alone and not what stands between it and the next quote.
 */
export function cellsOf(text: string, delimiter: Delimiter): readonly Cells[] {
  const quoted = text.includes('"')
  const { data, errors } = parse(text, delimiter)
  if (!quoted || (errors.length === 0 && data.length === linesIn(text))) return data
  return text.split('\n').map(line => {
    const one = parse(line, delimiter)
    // An empty line has no row at all.
    return one.errors.some(error => error.code === 'MissingQuotes') ? undefined : (one.data[0] ?? [''])
  })
}
