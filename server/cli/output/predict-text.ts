import { drawsText, type PredictionFigures, type Range, runsCold, wording } from '../../service.ts'
import { type Paint, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import type { PredictedProfile } from './predicted.ts'
import { type Cell, type Column, tableText, wrapped } from './table.ts'

/** Predictions for reading: a table for each profile, figures rounded to what a bench can read off. */

const width = 100

const columns: readonly Column[] = [
  { head: 'load', side: 'left' },
  { head: 'cores', side: 'right' },
  { head: 'corner', side: 'right' },
  { head: 'MHz', side: 'right' },
  { head: 'volts', side: 'right' },
  { head: 'watts', side: 'right' },
  { head: 'amperes', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'plate °C', side: 'right' },
  { head: 'limiter', side: 'left' },
  { head: 'state', side: 'left' },
  { head: 'margin W', side: 'right' },
]

/** A figure with this many decimals; one that does not exist is a dash. */
const figure = (value: number | null, decimals: number): Cell => ({ text: wording.column(value, decimals) })

function stateCell({ state }: PredictionFigures, paint: Paint): Cell {
  if (state === 'runaway' || state === 'over-limit') return { text: state, shown: paint('red', state) }
  return state === 'throttled' ? { text: state, shown: paint('yellow', state) } : { text: state }
}

function marginCell({ margin_w }: PredictionFigures, paint: Paint): Cell {
  const cell = figure(margin_w, 0)
  return margin_w !== null && margin_w < 0 ? { ...cell, shown: paint('red', cell.text) } : cell
}

/** Whose prediction a row is: load, cores and corner; the last with every humidity at which the row is the same. */
function headCells(row: PredictionFigures, humidities: string): Cell[] {
  return [
    { text: row.load },
    { text: row.cores === 0 ? wording.noFigure : String(row.cores) },
    { text: `${row.air_c} °C ${humidities} %` },
  ]
}

function figureCells(row: PredictionFigures, paint: Paint): Cell[] {
  return [
    figure(row.clock_mhz, 0),
    figure(row.voltage_v, 3),
    figure(row.power_w, 1),
    figure(row.current_a, 1),
    figure(row.die_c, 1),
    figure(row.plate_c, 1),
    { text: row.limiter },
    stateCell(row, paint),
    marginCell(row, paint),
  ]
}

/** The rows of a table; those that differ in nothing but the humidity are one. */
function tableRows(rows: readonly PredictionFigures[], cellsOf: (row: PredictionFigures) => Cell[]): Cell[][] {
  const merged: { row: PredictionFigures; cells: Cell[]; last: number }[] = []
  for (const row of rows) {
    const cells = cellsOf(row)
    const before = merged.at(-1)
    const same =
      before !== undefined &&
      before.row.load === row.load &&
      before.row.cores === row.cores &&
      before.row.air_c === row.air_c &&
      before.cells.every(({ text }, index) => text === cells[index]?.text)
    if (same) before.last = row.humidity_pct
    else merged.push({ row, cells, last: row.humidity_pct })
  }
  return merged.map(({ row, cells, last }) => {
    const humidities = last === row.humidity_pct ? String(last) : `${row.humidity_pct} to ${last}`
    return [...headCells(row, humidities), ...cells]
  })
}

const plateColumns: readonly Column[] = [
  ...columns.slice(0, 3),
  { head: 'coolant °C', side: 'right' },
  { head: 'fan %', side: 'right' },
  { head: 'drive A', side: 'right' },
  { head: 'drive W', side: 'right' },
  { head: 'wet °C', side: 'right' },
  { head: 'plate above K', side: 'right' },
]

/** What a cold plate takes and how far it is from the dew or frost point; nothing for coolers that cool by air alone. */
function plateText({ evaluation, rows }: PredictedProfile, paint: Paint): string {
  if (!runsCold(evaluation.input.bench?.cooler)) return ''
  const cellsOf = (row: PredictionFigures): Cell[] => {
    const above = row.plate_c === null ? null : row.plate_c - row.wet_c
    const cell = figure(above, 1)
    return [
      figure(row.coolant_c, 1),
      figure(row.fan_pct, 0),
      figure(row.drive_a, 2),
      figure(row.drive_w, 1),
      figure(row.wet_c, 1),
      above !== null && above <= 0 ? { ...cell, shown: paint('yellow', cell.text) } : cell,
    ]
  }
  return tableText(plateColumns, tableRows(rows, cellsOf))
}

const intervalColumns: readonly Column[] = [
  ...columns.slice(0, 3),
  { head: 'MHz', side: 'right' },
  { head: 'watts', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'plate °C', side: 'right' },
  { head: 'margin W', side: 'right' },
  { head: 'by', side: 'left' },
]

/** What `±` makes of the figures. */
function intervalText(rows: readonly PredictionFigures[]): string {
  if (rows.every(({ interval }) => interval === undefined))
    return '  no constant of this bench carries ±: no intervals\n'
  const cellsOf = ({ interval, interval_by }: PredictionFigures): Cell[] => {
    const range = (of: Range | null | undefined, decimals: number): Cell => ({
      text: wording.rangeText(of, value => wording.column(value, decimals)),
    })
    return [
      range(interval?.clock_mhz, 0),
      range(interval?.power_w, 1),
      range(interval?.die_c, 1),
      range(interval?.plate_c, 1),
      range(interval?.margin_w, 0),
      { text: interval_by === 'draws' ? 'draws' : 'first order' },
    ]
  }
  const draws = rows.some(one => one.interval_by === 'draws')
  const how = draws ? `; draws: ${drawsText} decide, since straight lines do not describe the figures` : ''
  return `${wrapped(`95 % intervals by the stated ±${how}`, '  ', width)}${tableText(intervalColumns, tableRows(rows, cellsOf))}`
}

/** The defaults used, each once; one that does not hold for every load names its loads. */
function assumedText(rows: readonly PredictionFigures[]): string {
  const loads = new Map<string, Set<string>>()
  for (const { assumed, load } of rows) {
    for (const one of assumed) loads.set(one, (loads.get(one) ?? new Set()).add(load))
  }
  const all = new Set(rows.map(row => row.load)).size
  return [...loads]
    .sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0))
    .map(([text, users]) => (users.size === all ? text : `${text} (${[...users].join(', ')})`))
    .join(', ')
}

function profileText(profile: PredictedProfile, paint: Paint, withIntervals: boolean): string {
  const { file, line, evaluation, rows, unread } = profile
  const { definition, part, cooler, room, board } = evaluation.profile
  const rests = [part, cooler, room, board].flatMap(one => (one === undefined ? [] : `${one.kind} ${one.name}`))
  const head = `${paint('bold', `profile ${definition.name}`)}  ${paint('dim', `${file}:${line}`)}\n`
  if (rows.length === 0) return `${head}  no prediction\n`
  const assumed = assumedText(rows)
  const tail = assumed === '' ? '' : wrapped(`assumed: ${assumed}`, '  ', width)
  const without = unread === undefined ? '' : wrapped(unread, '  ', width)
  return `${head}${without}${wrapped(rests.join(', '), '  ', width)}${tableText(
    columns,
    tableRows(rows, row => figureCells(row, paint)),
  )}${plateText(profile, paint)}${withIntervals ? intervalText(rows) : ''}${tail}`
}

export function predictText(profiles: readonly PredictedProfile[], io: Io, withIntervals = false): string {
  if (profiles.length === 0) return 'No profiles here.\n'
  const paint = paintFor(io, io.out)
  return profiles.map(profile => profileText(profile, paint, withIntervals)).join('\n')
}
