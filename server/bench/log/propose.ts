/** A mapping proposed for a log that nothing is known of, from its headers and its first numbers. */

import { findUnit, type Unit, unitLike, unitsOf } from '../../../grammar/units/units.ts'
import { upperMedianOf } from '../statistics/moments.ts'
import { isNothing, numberIn, timeStamp } from './cells.ts'
import { type ColumnKind, type DecimalMark, type Delimiter, delimiterText } from './mapping.ts'
import { HEAD_CHARACTERS, likelyHeader } from './reader.ts'
import { type Cells, cellsOf, linePieces } from './rows.ts'
import { headerText, sniffDecimal, sniffDelimiter } from './sniff.ts'
import type { LogSource } from './source.ts'

interface ProposedColumn {
  readonly kind: ColumnKind
  readonly header: string
  readonly unit: Unit
  /** Whether the header says the unit, or only its numbers do. */
  readonly unitFrom: 'header' | 'numbers'
  /** Other headers that could be meant, likelier ones first. */
  readonly others: readonly string[]
}

export interface Proposal {
  readonly delimiter: Delimiter
  readonly decimal: DecimalMark
  readonly columns: readonly ProposedColumn[]
  /** Every header that the log has. */
  readonly headers: readonly string[]
}

interface Wish {
  readonly kind: ColumnKind
  readonly dimension: Unit['dimension']
  /** Words of a header that speak for it, with their weight; the second, where there is one, stands behind the first. */
  readonly words: readonly (readonly [pattern: RegExp, weight: number, behind?: RegExp])[]
  readonly against: RegExp
  /** What a number of this kind is likely to be, in base units. */
  readonly likely: readonly [low: number, high: number]
}

const perCore = /\b(?:core|thread)s?[ #]*\d/i

const wishes: readonly Wish[] = [
  {
    kind: 'time',
    dimension: 'time',
    words: [
      [/\belapsed\b/i, 4],
      [/\btime\b|\bseconds?\b/i, 3],
    ],
    against: /uptime|frame/i,
    likely: [0, 1e9],
  },
  {
    kind: 'clock',
    dimension: 'frequency',
    words: [
      [/\bcore/i, 4, /clock/i],
      [/clock/i, 4, /core/i],
      [/effective clock/i, 4],
      [/\bclock\b|\bfreq/i, 3],
    ],
    against: /memory|ring|fabric|cache|graphics|bus|reference/i,
    likely: [0.2, 10],
  },
  {
    kind: 'voltage',
    dimension: 'voltage',
    words: [
      [/\bdie/i, 4, /volt/i],
      [/core/i, 4, /volt/i],
      [/\bvolt/i, 3],
    ],
    against: /memory|soc|battery|\b(?:3\.3|5|12) ?v\b|\b(?:drive|plate|modules?|supply)\b/i,
    likely: [0.3, 2],
  },
  {
    kind: 'power',
    dimension: 'power',
    words: [
      [/\bpackage\b/i, 4],
      [/\bpower\b|\bwatts?\b/i, 3],
    ],
    against: /limit|graphics|memory|temp|supply/i,
    likely: [1, 2000],
  },
  {
    kind: 'current',
    dimension: 'current',
    words: [
      [/\bcore/i, 4, /current/i],
      [/\bcurrent\b|\bamp/i, 3],
    ],
    against: /limit|graphics|memory|drive|\b(?:plate|modules?|supply)\b/i,
    likely: [0.5, 1000],
  },
  {
    kind: 'die',
    dimension: 'temperature',
    words: [
      [/\bhot.?spot\b|\bhottest\b|\bdie\b/i, 5],
      [/\bcore/i, 4, /max/i],
      [/max/i, 4, /core/i],
      [/\bcore|\bpackage\b/i, 3],
      [/\btemp/i, 2],
    ],
    against: /plate|coolant|water|liquid|room|air|board|disk|graphics|memory|clock|power|volt/i,
    likely: [-40, 150],
  },
  {
    kind: 'plate',
    dimension: 'temperature',
    words: [[/\bplate\b|\bblock\b/i, 4]],
    against: /power|volt|current/i,
    likely: [-60, 120],
  },
  {
    kind: 'coolant',
    dimension: 'temperature',
    words: [[/\bcoolant\b|\bwater\b|\bliquid\b|\bloop\b/i, 4]],
    against: /pump|flow|power/i,
    likely: [-60, 100],
  },
  {
    kind: 'drive',
    dimension: 'current',
    words: [[/\b(?:drive|plate|modules?)\b/i, 4]],
    against: /limit|power|volt|temp/i,
    likely: [0.05, 100],
  },
  {
    kind: 'drive-voltage',
    dimension: 'voltage',
    words: [[/\b(?:drive|plate|modules?)\b/i, 4]],
    against: /limit|power|current|temp/i,
    likely: [0.2, 400],
  },
  {
    kind: 'fan',
    dimension: 'percent',
    words: [
      [/\bfans?\b/i, 4, /\bduty\b/i],
      [/\bfans?\b/i, 3],
    ],
    against: /rpm|pump|graphics|target|limit/i,
    likely: [0, 100],
  },
]

/** A unit alone says enough of a voltage or a power of the part; a temperature or a share may be anything's. */
const needsWord: ReadonlySet<ColumnKind> = new Set(['plate', 'coolant', 'drive', 'drive-voltage', 'fan'])

/** The unit that a header carries: in brackets, or as its last word. */
function unitInHeader(header: string): Unit | undefined {
  const bracketed = [...header.matchAll(/[[(]([^[(\])]*)[\])]/g)].map(([, text = '']) => text.trim())
  const last = header.split(/[\s,_]+/).at(-1) ?? ''
  for (const text of [...bracketed, last]) {
    const found = findUnit(text) ?? (text.length > 1 ? unitLike(text) : undefined)
    if (found !== undefined && text !== header) return found
  }
  return undefined
}

/** The unit in which some numbers are most likely to be what they are said to be; the base unit where none of them tells. */
function unitByNumbers(numbers: readonly number[], { dimension, likely }: Wish): Unit | undefined {
  const units = unitsOf(dimension)
  const middle = upperMedianOf(numbers)
  if (middle === undefined) return units[0]
  return units.find(unit => middle * unit.factor >= likely[0] && middle * unit.factor <= likely[1])
}

interface Candidate extends Pick<ProposedColumn, 'header' | 'unit' | 'unitFrom'> {
  readonly score: number
}

/** Whether a header has these words. One after the other is two searches: one expression for both would be quadratic. */
function speaks(header: string, [pattern, , behind]: Wish['words'][number]): boolean {
  const found = pattern.exec(header)
  return found !== null && (behind === undefined || behind.test(header.slice(found.index + found[0].length)))
}

function judge(header: string, column: readonly string[], wish: Wish, decimal: DecimalMark): Candidate | undefined {
  const cells = column.filter(cell => !isNothing(cell))
  const numbers = cells.map(cell => numberIn(cell, decimal)).filter(value => !Number.isNaN(value))
  const isTimes = wish.kind === 'time' && cells.some(cell => timeStamp(cell) !== undefined)
  if (numbers.length === 0 && !isTimes) return undefined
  const stated = unitInHeader(header)
  const fits = stated?.dimension === wish.dimension
  if (stated !== undefined && !fits && wish.kind !== 'time') return undefined
  if (wish.against.test(header)) return undefined
  const words = Math.max(0, ...wish.words.filter(words => speaks(header, words)).map(([, weight]) => weight))
  if (words === 0 && !(fits && !needsWord.has(wish.kind))) return undefined
  const unit = fits ? stated : unitByNumbers(numbers, wish)
  if (unit === undefined) return undefined
  const rising = numbers.every((value, index) => index === 0 || value >= (numbers[index - 1] as number))
  const score =
    words +
    (fits ? 2 : 0) +
    (wish.kind === 'time' && (rising || isTimes) ? 2 : 0) -
    (perCore.test(header) ? 1 : 0) -
    (/\bmin(?:imum)?\b|\blimit\b/i.test(header) ? 2 : 0)
  return { header, unit, unitFrom: fits ? 'header' : 'numbers', score }
}

function propose(rows: readonly Cells[], delimiter: Delimiter, decimal: DecimalMark): Proposal {
  const { index, headers } = likelyHeader(rows)
  const header = rows[index]?.map(headerText) ?? []
  const below = rows.slice(index + 1).flatMap(cells => (cells?.length === header.length ? [cells] : []))
  const taken = new Set<string>()
  const columns: ProposedColumn[] = []
  for (const wish of wishes) {
    const candidates = header
      .flatMap((name, at) => {
        const column = below.map(cells => cells[at] as string)
        return name === '' || taken.has(name) ? [] : (judge(name, column, wish, decimal) ?? [])
      })
      .toSorted((a, b) => b.score - a.score)
    const [best, ...others] = candidates
    if (best === undefined || best.score < 2) continue
    taken.add(best.header)
    columns.push({
      kind: wish.kind,
      header: best.header,
      unit: best.unit,
      unitFrom: best.unitFrom,
      others: others.map(other => other.header),
    })
  }
  return { delimiter, decimal, columns, headers }
}

/**
 * Proposes what a log's columns are, from its beginning.
 * @returns undefined where there is no such file or nothing in it that looks like a table with headers
 */
export async function proposeMapping(source: LogSource, uri: string): Promise<Proposal | undefined> {
  const file = await source.open(uri)
  if (file === undefined) return undefined
  let text = ''
  try {
    for await (const piece of linePieces(file)) {
      text += `${text === '' ? '' : '\n'}${piece.text}`
      if (text.length >= HEAD_CHARACTERS) break
    }
  } catch {
    return undefined
  }
  const delimiter = sniffDelimiter(text)
  const decimal = sniffDecimal(text, delimiter)
  const proposal = propose(cellsOf(text, delimiter), delimiter, decimal)
  return proposal.columns.some(({ kind }) => kind !== 'time') ? proposal : undefined
}

function quoted(text: string): string {
  return `"${text.replaceAll('"', '""')}"`
}

/** The name of a run that is written from a log, and what it is said to be of. */
export interface RunHead {
  readonly name: string
  readonly profile: string
  readonly load: string
  /** `2026-01-12 21:40`. */
  readonly date?: string
  /** Path of the log relative to the file that the block is written into. */
  readonly path: string
}

/** A run's block with the proposed mapping, as the formatter writes it. Air and humidity are left for the person to say. */
export function runText(head: RunHead, proposal: Proposal): string {
  const columns = proposal.columns.map(
    ({ kind, header, unit }) => `    column ${kind} ${quoted(header)} ${unit.symbol}`,
  )
  return [
    `run ${head.name} of ${head.profile} under ${head.load} {`,
    ...(head.date === undefined ? [] : [`  date ${head.date}`]),
    `  log ${quoted(head.path)} {`,
    ...columns,
    `    delimiter ${delimiterText(proposal.delimiter)}`,
    `    decimal ${proposal.decimal === ',' ? 'comma' : 'point'}`,
    '  }',
    '}',
    '',
  ].join('\n')
}
