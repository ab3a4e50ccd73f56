/** What a log looks like, found from its first lines. */

import { isNothing, numberIn } from './cells.ts'
import type { DecimalMark, Delimiter } from './mapping.ts'
import { cellsOf } from './rows.ts'

/** In this order: a semicolon, a bar or a tab is never part of a number, a comma may be, a space stands in many headers. */
const candidates: readonly Delimiter[] = ['\t', ';', '|', ',', ' ']

/** A delimiter counts where most lines have the same number of cells, and more than one. */
const AGREEING = 0.7

function shapeOf(text: string, delimiter: Delimiter): { readonly cells: number; readonly share: number } {
  const counts = new Map<number, number>()
  let lines = 0
  for (const cells of cellsOf(text, delimiter)) {
    if (cells === undefined || (cells.length === 1 && cells[0]?.trim() === '')) continue
    lines++
    counts.set(cells.length, (counts.get(cells.length) ?? 0) + 1)
  }
  let best = { cells: 1, share: 0 }
  for (const [cells, count] of counts) if (count / lines > best.share) best = { cells, share: count / lines }
  return best
}

/** The delimiter of some first lines; a comma where nothing separates them. */
export function sniffDelimiter(text: string): Delimiter {
  const shapes = candidates.map(delimiter => ({ delimiter, ...shapeOf(text, delimiter) }))
  const sure = shapes.find(({ cells, share }) => cells > 1 && share >= AGREEING)
  return sure?.delimiter ?? shapes.toSorted((a, b) => b.cells * b.share - a.cells * a.share)[0]?.delimiter ?? ','
}

/** The decimal mark of some first lines: the one that more numbers have. */
export function sniffDecimal(text: string, delimiter: Delimiter): DecimalMark {
  let [points, commas] = [0, 0]
  for (const cells of cellsOf(text, delimiter)) {
    for (const cell of cells ?? []) {
      // Three digits behind each comma may part thousands where a comma in a cell takes quotes.
      if (isNothing(cell) || (delimiter === ',' && /^\s*\d{1,3}(?:,\d{3})+\s*$/.test(cell))) continue
      if (cell.includes('.') && !Number.isNaN(numberIn(cell, '.'))) points++
      if (cell.includes(',') && !Number.isNaN(numberIn(cell, ','))) commas++
    }
  }
  return commas > points ? ',' : '.'
}

/** What a terminal would obey and an editor would not show. */
const unseen = /[\p{Cc}\u202a-\u202e\u2066-\u2069]/gu

/** A cell as a message has it: the beginning alone, nothing in it that cannot be seen. */
export function shownCell(cell: string): string {
  return cell.trim().slice(0, 40).replace(unseen, '\ufffd')
}

/** No cell that a logger writes is longer: of a header no more is read, and a row with such a cell is left out. */
export const LONGEST_CELL = 1_000

/** A header as it is compared: outer white space is no part of it. */
export function headerText(cell: string): string {
  return cell
    .slice(0, LONGEST_CELL)
    .replace(/^\ufeff/, '')
    .trim()
    .replace(/\s+/g, ' ')
    .replace(unseen, '\ufffd')
}

/** Where each header stands among the cells, exactly or but for its case; -1 where it does not. The first of equal ones counts. */
export function findHeaders(cells: readonly string[], headers: readonly string[]): readonly number[] {
  const own = cells.map(headerText)
  const folded = own.map(cell => cell.toLowerCase())
  return headers.map(header => {
    const wanted = headerText(header)
    const exact = own.indexOf(wanted)
    return exact >= 0 ? exact : folded.indexOf(wanted.toLowerCase())
  })
}

/** Those of some headers that stand more than once among the cells. */
export function headersTwice(cells: readonly string[], headers: readonly string[]): readonly string[] {
  const own = cells.map(headerText)
  return headers.filter(header => own.filter(cell => cell === headerText(header)).length > 1)
}
