/** The rows of a log by its mapping: what is a row, what is the header again, what cannot be taken and why. */

import { findUnit } from '../../../grammar/units/units.ts'
import { createDays, isNothing, timeStamp, valueIn } from './cells.ts'
import { createClock, type LogGap, type TimedRow } from './clock.ts'
import { type Figure, figuresIn } from './figures.ts'
import type { ColumnKind, DecimalMark, LogMapping } from './mapping.ts'
import type { Cells } from './rows.ts'
import { createSeries, type LogSeries } from './series.ts'
import { findHeaders, headersTwice, headerText, shownCell } from './sniff.ts'

/** A row that could not be taken, by its line in the file. */
interface MalformedRow {
  readonly line: number
  readonly reason: string
}

/** What the rows came to. */
export interface TableReading {
  /** Its times count from the first row taken. */
  readonly series: LogSeries
  /** Seconds after midnight of that row, where the log has times of day. */
  readonly clockStartS: number | undefined
  /** Rows taken. */
  readonly rows: number
  /** Rows that could not be taken: all of them counted, the first few named. */
  readonly malformed: { readonly count: number; readonly first: readonly MalformedRow[] }
  /** Headers that came again on the way, as when a logger was started again. */
  readonly repeatedHeaders: number
  /** The first gaps, and how many there are. */
  readonly gaps: readonly LogGap[]
  readonly gapCount: number
  /** Rows without a value, by figure. */
  readonly empty: Readonly<Partial<Record<Figure, number>>>
  /** Columns of the mapping that the header does not have. */
  readonly missingColumns: readonly { readonly kind: ColumnKind; readonly header: string }[]
  /** Headers of the mapping that stand more than once: the first counts. */
  readonly twice: readonly string[]
  readonly hasTime: boolean
}

export interface LogTable {
  /** Takes the cells of one line behind the header. */
  row(cells: Cells, line: number): void
  /** Leaves a line out and says why. */
  refuse(line: number, reason: string): void
  finish(): TableReading
}

interface Column {
  readonly kind: ColumnKind
  readonly header: string
  /** Where it stands among the cells. */
  readonly at: number
  /** Where it stands among the figures; -1 for the time. */
  readonly figure: number
  readonly convert: (cell: string) => number
}

const NAMED = 5
/** A row of units stands within so many lines below the header. */
const UNITS_WITHIN = 2
const DAY_S = 86_400

/** A cell without the white space and the brackets around it. */
function unwrapped(cell: string): string {
  let [start, end] = [0, cell.length]
  while (start < end && /[\s[(]/.test(cell.charAt(start))) start++
  while (end > start && /[\s\])]/.test(cell.charAt(end - 1))) end--
  return cell.slice(start, end)
}

/** Whether a row has nothing but units, and words that could be some. */
function areUnits(cells: readonly string[]): boolean {
  const words = cells.map(unwrapped)
  return words.every(word => !/\d/.test(word)) && words.some(word => findUnit(word) !== undefined)
}

/** A column of dates beside one of times needs no mapping. */
const dateColumn = (cells: readonly string[]): number =>
  cells.findIndex(cell => /^(?:date|datum)$/i.test(headerText(cell)))

const counted = (cells: number): string => (cells === 1 ? '1 cell' : `${cells} cells`)

/** @param header the cells of the header, and its line */
export function createTable(
  mapping: LogMapping,
  decimal: DecimalMark,
  header: { readonly cells: readonly string[]; readonly line: number },
): LogTable {
  const headers = mapping.columns.map(column => column.header)
  const present = findHeaders(header.cells, headers)
  const kinds = figuresIn(
    mapping.columns.flatMap(({ kind }, index) => (kind !== 'time' && (present[index] as number) >= 0 ? [kind] : [])),
  )
  const columnsOf = (cells: readonly string[]): readonly Column[] => {
    const at = findHeaders(cells, headers)
    return mapping.columns.flatMap(({ kind, header: name, unit }, index) => {
      const place = at[index] as number
      const figure = kind === 'time' ? -1 : kinds.indexOf(kind)
      return place < 0
        ? []
        : [{ kind, header: name, at: place, figure, convert: (cell: string) => valueIn(cell, unit, decimal) }]
    })
  }

  const series = createSeries(kinds)
  const values = new Float64Array(kinds.length)
  const blanks = new Float64Array(kinds.length)
  const malformed: MalformedRow[] = []
  let columns = columnsOf(header.cells)
  let figures = columns.filter(({ figure }) => figure >= 0)
  let time = columns.find(({ kind }) => kind === 'time')
  let width = header.cells.length
  let dateAt = dateColumn(header.cells)
  let malformedCount = 0
  let rows = 0
  let sinceHeader = 0
  let repeatedHeaders = 0
  let clockStartS: number | undefined
  const daysOf = createDays()

  const refuse = (line: number, reason: string): void => {
    malformedCount++
    if (malformed.length < NAMED) malformed.push({ line, reason })
  }
  const take = ({ values: own, clockS }: TimedRow, timeS: number, isBehindGap: boolean): void => {
    if (rows === 0 && !Number.isNaN(clockS)) clockStartS = clockS
    rows++
    for (let at = 0; at < own.length; at++) if (Number.isNaN(own[at])) blanks[at] = (blanks[at] as number) + 1
    if (isBehindGap) series.close()
    series.add(timeS, own)
  }
  const clock = createClock(take, ({ line, shown }) =>
    refuse(line, `the time ${shown} is out of line with the rows around it`),
  )
  const timed: TimedRow = { raw: 0, wrapS: 0, clockS: Number.NaN, line: 0, shown: '', values }
  /** Whether a row is the header again; its columns may stand in another order. */
  const isHeaderAgain = (cells: readonly string[]): boolean => {
    const again = columnsOf(cells)
    if (again.length < columns.length) return false
    columns = again
    figures = again.filter(({ figure }) => figure >= 0)
    time = again.find(({ kind }) => kind === 'time')
    width = cells.length
    dateAt = dateColumn(cells)
    repeatedHeaders++
    sinceHeader = 0
    return true
  }
  const isUnits = (cells: readonly string[], line: number): boolean =>
    rows === 0 && line <= header.line + UNITS_WITHIN && areUnits(cells)
  /** A row without a number where one is wanted: the header again, units below the header, or malformed. */
  const withoutNumber = (cells: readonly string[], line: number, column: Column): void => {
    if (isHeaderAgain(cells) || isUnits(cells, line)) return
    const cell = cells[column.at]
    const under = `under "${column.header}"`
    if (cell === undefined) refuse(line, `${counted(cells.length)}, none ${under}`)
    else if (isNothing(cell)) refuse(line, `nothing ${under}`)
    else refuse(line, `"${shownCell(cell)}" ${under} is no number`)
  }
  /** Puts the row's time into `timed`; false where it has none. */
  const readTime = (cell: string, column: Column, cells: readonly string[]): boolean => {
    timed.wrapS = 0
    timed.clockS = Number.NaN
    timed.raw = column.convert(cell)
    if (!Number.isNaN(timed.raw)) return true
    const found = timeStamp(cell)
    if (found === undefined) return false
    const date = found.wrapS === DAY_S && dateAt >= 0 ? (cells[dateAt] ?? '').trim() : found.date
    timed.raw = daysOf(date) * DAY_S + found.seconds - found.aheadS
    timed.wrapS = date === '' ? found.wrapS : 0
    if (Number.isNaN(timed.raw)) return false
    timed.clockS = found.wrapS === 3600 ? Number.NaN : found.seconds
    return true
  }
  /** Puts the row's figures into `values`; false where the row cannot be taken. */
  const fill = (cells: readonly string[], line: number): boolean => {
    for (const column of figures) {
      const cell = cells[column.at]
      const value = cell === undefined ? Number.NaN : column.convert(cell)
      if (Number.isNaN(value) && (cell === undefined || !isNothing(cell))) {
        withoutNumber(cells, line, column)
        return false
      }
      values[column.figure] = value
    }
    return true
  }

  return {
    row: (cells, line) => {
      if (cells === undefined) {
        refuse(line, 'a quote is never closed')
        return
      }
      if (cells.length === 1 && (cells[0] as string).trim() === '') return
      // A separator at the end of a row is common, and no cell.
      if (cells.length > width && !cells.slice(width).every(isNothing)) {
        if (!isHeaderAgain(cells) && !isUnits(cells, line))
          refuse(line, `${counted(cells.length)} where the header has ${width}`)
        return
      }
      if (!fill(cells, line)) return
      if (time === undefined) {
        take(timed, rows, false)
        return
      }
      const cell = cells[time.at]
      if (cell === undefined || !readTime(cell, time, cells)) {
        withoutNumber(cells, line, time)
        return
      }
      timed.line = line
      timed.shown = shownCell(cell)
      if (clock.offer(timed, sinceHeader === 0 ? 'behind-header' : 'later')) sinceHeader++
      else refuse(line, `the time goes back to ${timed.shown}`)
    },
    refuse,
    finish: () => {
      clock.flush()
      return {
        series: series.finish(),
        clockStartS,
        rows,
        malformed: { count: malformedCount, first: malformed.toSorted((a, b) => a.line - b.line) },
        repeatedHeaders,
        gaps: clock.gaps,
        gapCount: clock.gapCount,
        empty: Object.fromEntries(
          kinds.flatMap((kind, at) => ((blanks[at] as number) > 0 ? [[kind, blanks[at]]] : [])),
        ),
        missingColumns: mapping.columns
          .filter((_, index) => (present[index] as number) < 0)
          .map(({ kind, header: name }) => ({ kind, header: name })),
        twice: headersTwice(header.cells, headers),
        hasTime: time !== undefined,
      }
    },
  }
}
