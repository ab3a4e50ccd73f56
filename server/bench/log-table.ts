import { isNothing, timeOfDay, valueIn } from './log-cells.ts'
import { createClock, type LogGap } from './log-clock.ts'
import type { Cells } from './log-rows.ts'
import { createSeries, type LogSeries } from './log-series.ts'
import { findHeaders } from './log-sniff.ts'
import { type ColumnKind, type DecimalMark, type FigureKind, figureKinds, type LogMapping } from './runs.ts'

/** The rows of a log by its mapping: what is a row, what is the header again, what cannot be taken and why. */

/** A row that could not be taken, by its line in the file. */
export interface MalformedRow {
  readonly line: number
  readonly reason: string
}

/** What the rows came to. */
export interface TableReading {
  readonly series: LogSeries
  /** Rows taken. */
  readonly rows: number
  /** Rows that could not be taken: all of them counted, the first few named. */
  readonly malformed: { readonly count: number; readonly first: readonly MalformedRow[] }
  /** Headers that came again on the way, as when a logger was started anew. */
  readonly repeatedHeaders: number
  /** The first gaps, and how many there are. */
  readonly gaps: readonly LogGap[]
  readonly gapCount: number
  /** Rows without a value, by figure. */
  readonly empty: Readonly<Partial<Record<FigureKind, number>>>
  /** Columns of the mapping that the header does not have. */
  readonly missingColumns: readonly { readonly kind: ColumnKind; readonly header: string }[]
  readonly hasTime: boolean
}

export interface LogTable {
  /** Takes the cells of one line behind the header. */
  row(cells: Cells, line: number): void
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

/** @param header the cells of the header, and its line */
export function createTable(
  mapping: LogMapping,
  decimal: DecimalMark,
  header: { readonly cells: readonly string[]; readonly line: number },
): LogTable {
  const headers = mapping.columns.map(column => column.header)
  const present = findHeaders(header.cells, headers)
  const kinds = figureKinds.filter(kind =>
    mapping.columns.some((column, index) => column.kind === kind && (present[index] as number) >= 0),
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
  const clock = createClock()
  const malformed: MalformedRow[] = []
  let columns = columnsOf(header.cells)
  let figures = columns.filter(({ figure }) => figure >= 0)
  let time = columns.find(({ kind }) => kind === 'time')
  let malformedCount = 0
  let rows = 0
  let sinceHeader = 0
  let repeatedHeaders = 0
  let timeKind: 'time-of-day' | 'elapsed' = 'elapsed'

  const refuse = (line: number, reason: string): void => {
    malformedCount++
    if (malformed.length < NAMED) malformed.push({ line, reason })
  }
  /** Whether a row is the header again; its columns may stand in another order. */
  const isHeaderAgain = (cells: readonly string[]): boolean => {
    const again = columnsOf(cells)
    if (again.length < columns.length) return false
    columns = again
    figures = again.filter(({ figure }) => figure >= 0)
    time = again.find(({ kind }) => kind === 'time')
    repeatedHeaders++
    sinceHeader = 0
    return true
  }
  const isUnits = (cells: readonly string[], line: number): boolean =>
    rows === 0 &&
    line <= header.line + UNITS_WITHIN &&
    columns.every(({ at, convert }) => Number.isNaN(convert(cells[at] ?? '')))
  /** A row without a number where one is wanted: the header again, units below the header, or malformed. */
  const withoutNumber = (cells: readonly string[], line: number, column: Column): void => {
    if (isHeaderAgain(cells) || isUnits(cells, line)) return
    const cell = cells[column.at]
    const under = `under "${column.header}"`
    if (cell === undefined) refuse(line, `${cells.length === 1 ? '1 cell' : `${cells.length} cells`}, none ${under}`)
    else if (isNothing(cell)) refuse(line, `nothing ${under}`)
    else refuse(line, `"${cell.trim().slice(0, 40)}" ${under} is no number`)
  }
  const timeIn = (cell: string, column: Column): number => {
    const elapsed = column.convert(cell)
    if (!Number.isNaN(elapsed)) return elapsed
    const ofDay = timeOfDay(cell)
    if (!Number.isNaN(ofDay)) timeKind = 'time-of-day'
    return ofDay
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
    for (const { figure } of figures) if (Number.isNaN(values[figure])) blanks[figure] = (blanks[figure] as number) + 1
    return true
  }

  return {
    row: (cells, line) => {
      if (cells === undefined) {
        refuse(line, 'a quote is never closed')
        return
      }
      if (cells.length === 1 && (cells[0] as string).trim() === '') return
      let timeS = rows
      if (time !== undefined) {
        const cell = cells[time.at]
        const raw = cell === undefined ? Number.NaN : timeIn(cell, time)
        if (Number.isNaN(raw)) {
          withoutNumber(cells, line, time)
          return
        }
        timeS = clock.next(raw, sinceHeader === 0 ? 'behind-header' : 'later', timeKind)
        if (Number.isNaN(timeS)) {
          refuse(line, `the time goes back to ${(cell as string).trim()}`)
          return
        }
      }
      if (!fill(cells, line)) return
      sinceHeader++
      rows++
      if (clock.take(timeS)) series.close()
      series.add(timeS, values)
    },
    finish: () => ({
      series: series.finish(),
      rows,
      malformed: { count: malformedCount, first: malformed },
      repeatedHeaders,
      gaps: clock.gaps,
      gapCount: clock.gapCount,
      empty: Object.fromEntries(kinds.flatMap((kind, at) => ((blanks[at] as number) > 0 ? [[kind, blanks[at]]] : []))),
      missingColumns: mapping.columns
        .filter((_, index) => (present[index] as number) < 0)
        .map(({ kind, header: name }) => ({ kind, header: name })),
      hasTime: time !== undefined,
    }),
  }
}
