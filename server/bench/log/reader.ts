/** Reads a log in one go with flat memory: no more than a piece of the file and a few thousand points are held. */

import { type DecimalMark, type Delimiter, delimiterText, type LogMapping } from './mapping.ts'
import { type Cells, cellsOf, type LinePiece, linePieces, longestLine } from './rows.ts'
import { findHeaders, headerText, LONGEST_CELL, sniffDecimal, sniffDelimiter } from './sniff.ts'
import type { LogSource } from './source.ts'
import { createTable, type LogTable, type TableReading } from './table.ts'

/** How the log is written. */
interface Layout {
  readonly delimiter: Delimiter
  readonly decimal: DecimalMark
  readonly headers: readonly string[]
  readonly headerLine: number
}

export interface ReadLog extends TableReading, Layout {
  readonly state: 'read'
  /** What took the place of something that neither mapping nor log says. */
  readonly assumed: readonly string[]
}

export type LogResult =
  | ReadLog
  /** There is no such file. */
  | { readonly state: 'missing' }
  /** The file has no line, or reading it failed on the way. */
  | { readonly state: 'unreadable'; readonly why: string }
  /** None of the mapping's headers stands in the first lines; `headers` are those that evidently are, by the delimiter of its lines. */
  | { readonly state: 'no-header'; readonly headers: readonly string[]; readonly delimiter: Delimiter }

export interface ReadOptions {
  /** Bytes read so far, of how many. */
  readonly onProgress?: (bytes: number, size: number | undefined) => void
  readonly signal?: AbortSignal
}

/** The header stands within so many lines. */
export const HEADER_WITHIN = 200
/** So much of the log is looked at for its header, delimiter and decimal mark. */
export const HEAD_CHARACTERS = 65_536

/** The index of the line among the first with most of the wanted headers; -1 where none has any. */
function headerAmong(rows: readonly Cells[], headers: readonly string[]): number {
  let best = -1
  let most = 0
  for (let index = 0; index < Math.min(rows.length, HEADER_WITHIN) && most < headers.length; index++) {
    const cells = rows[index]
    const found = cells === undefined ? 0 : findHeaders(cells, headers).filter(at => at >= 0).length
    if (found > most) {
      most = found
      best = index
    }
  }
  return best
}

/** The headers of the first line that has words in most of its cells. */
export function likelyHeader(rows: readonly Cells[]): { readonly index: number; readonly headers: readonly string[] } {
  const index = rows.slice(0, HEADER_WITHIN).findIndex(cells => {
    if (cells === undefined || cells.length < 2) return false
    return cells.filter(cell => /\p{L}/u.test(cell)).length > cells.length / 2
  })
  return { index, headers: rows[index]?.map(headerText).filter(cell => cell !== '') ?? [] }
}

interface Begun {
  readonly layout: Layout
  readonly table: LogTable
}

/** Finds the header in the first lines; what is wrong is the result. */
function begin(text: string, mapping: LogMapping): Begun | LogResult {
  const delimiter = mapping.delimiter ?? sniffDelimiter(text)
  const decimal = mapping.decimal ?? sniffDecimal(text, delimiter)
  const rows = cellsOf(text, delimiter)
  const index = headerAmong(
    rows,
    mapping.columns.map(({ header }) => header),
  )
  const cells = rows[index]
  if (cells === undefined) {
    const meant = sniffDelimiter(text)
    return { state: 'no-header', headers: likelyHeader(cellsOf(text, meant)).headers, delimiter: meant }
  }
  const line = index + 1
  const table = createTable(mapping, decimal, { cells, line })
  return { layout: { delimiter, decimal, headers: cells.map(headerText), headerLine: line }, table }
}

function take({ table, layout }: Begun, { text, firstLine }: LinePiece): void {
  const rows = cellsOf(text, layout.delimiter)
  const isLong = longestLine(text) > LONGEST_CELL
  for (let index = 0; index < rows.length; index++) {
    const line = firstLine + index
    if (line <= layout.headerLine) continue
    const long = isLong ? rows[index]?.find(cell => cell.length > LONGEST_CELL) : undefined
    if (long === undefined) table.row(rows[index], line)
    else table.refuse(line, `a cell has ${long.length} characters, more than ${LONGEST_CELL}`)
  }
}

function finish({ table, layout }: Begun, mapping: LogMapping): ReadLog {
  const reading = table.finish()
  return {
    state: 'read',
    ...reading,
    ...layout,
    assumed: [
      ...(mapping.delimiter === undefined ? [`delimiter ${delimiterText(layout.delimiter)}`] : []),
      ...(mapping.decimal === undefined ? [`decimal ${layout.decimal === ',' ? 'comma' : 'point'}`] : []),
      ...(reading.hasTime ? [] : ['1 s from row to row']),
    ],
  }
}

/**
 * Reads a log by its mapping. Memory does not grow with the file.
 * What is wrong with the log is the result; only an aborted signal throws.
 */
export async function readLog(
  source: LogSource,
  uri: string,
  mapping: LogMapping,
  options: ReadOptions = {},
): Promise<LogResult> {
  const file = await source.open(uri)
  if (file === undefined) return { state: 'missing' }
  let begun: Begun | undefined
  let head: LinePiece[] = []
  const start = (): LogResult | undefined => {
    const made = begin(head.map(piece => piece.text).join('\n'), mapping)
    if ('state' in made) return made
    begun = made
    for (const piece of head) take(made, piece)
    head = []
    return undefined
  }
  try {
    for await (const piece of linePieces(file)) {
      options.signal?.throwIfAborted()
      options.onProgress?.(piece.bytes, file.size)
      if (begun !== undefined) {
        take(begun, piece)
        continue
      }
      head.push(piece)
      if (head.reduce((sum, { text }) => sum + text.length, 0) < HEAD_CHARACTERS) continue
      const wrong = start()
      if (wrong !== undefined) return wrong
    }
  } catch (error) {
    options.signal?.throwIfAborted()
    return { state: 'unreadable', why: error instanceof Error ? error.message : String(error) }
  }
  if (begun === undefined) {
    if (head.every(({ text }) => text.trim() === '')) return { state: 'unreadable', why: 'it is empty' }
    const wrong = start()
    if (wrong !== undefined) return wrong
  }
  return finish(begun as unknown as Begun, mapping)
}
