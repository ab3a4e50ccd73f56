/** Predictions for reading: tables for each profile, figures rounded to what a bench can read off. */

import {
  drawsText,
  inFileOrder,
  intervalSource,
  type PredictionFigures,
  type Range,
  restsOnUsual,
  runsCold,
  wording,
  worseFirst,
  worstCorners,
} from '../../service.ts'
import { headText, type Paint, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import {
  coresCell,
  cornerCell,
  groupClockText,
  mergedCounts,
  mergedHumidities,
  type ShownRow,
  wetterFirst,
} from './predict-rows.ts'
import type { PredictedProfile } from './predicted.ts'
import { type Cell, type Column, tableText, widthOf, wrapped } from './table.ts'

/** What is printed of predictions. */
export interface PredictShow {
  /** Every corner and every core count, not the worst alone. */
  readonly all: boolean
  readonly intervals: boolean
}

const keys: readonly Column[] = [
  { head: 'load', side: 'left', key: true },
  { head: 'cores', side: 'right', key: true },
  { head: 'corner', side: 'right', key: true },
]

const columns: readonly Column[] = [
  ...keys,
  { head: 'MHz', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'margin', side: 'right' },
  { head: 'limiter', side: 'left' },
  { head: 'state', side: 'left' },
  { head: 'watts', side: 'right' },
  { head: 'volts', side: 'right' },
  { head: 'amperes', side: 'right' },
  { head: 'plate °C', side: 'right' },
]

/** A figure with this many decimals; one that does not exist is a dash. */
const figure = (value: number | null, decimals: number): Cell => ({ text: wording.column(value, decimals) })

function stateCell({ state }: PredictionFigures, paint: Paint): Cell {
  if (state === 'runaway' || state === 'over-limit') return { text: state, shown: paint('red', state) }
  return state === 'throttled' ? { text: state, shown: paint('yellow', state) } : { text: state }
}

function marginCell({ margin_w }: PredictionFigures, paint: Paint): Cell {
  const cell = { text: margin_w === null ? wording.noFigure : `${wording.column(margin_w, 0)} W` }
  return margin_w !== null && margin_w < 0 ? { ...cell, shown: paint('red', cell.text) } : cell
}

function figureCells(row: PredictionFigures, paint: Paint): Cell[] {
  return [
    figure(row.clock_mhz, 0),
    figure(row.die_c, 1),
    marginCell(row, paint),
    { text: row.limiter },
    stateCell(row, paint),
    figure(row.power_w, 1),
    figure(row.voltage_v, 3),
    figure(row.current_a, 1),
    figure(row.plate_c, 1),
  ]
}

type Order = (a: PredictionFigures, b: PredictionFigures) => number

/** The rows of a table: the worst of each load, or all, those that differ in nothing but the humidity as one. */
function tableRows(
  { evaluation, rows }: PredictedProfile,
  { all }: PredictShow,
  order: Order,
  cellsOf: (row: PredictionFigures) => readonly Cell[],
): Cell[][] {
  const inOrder = inFileOrder(evaluation, rows)
  const texts = (row: PredictionFigures): string => JSON.stringify(cellsOf(row).map(({ text }) => text))
  const shown: readonly ShownRow[] = all
    ? mergedHumidities(inOrder, texts)
    : mergedCounts(worstCorners(inOrder, order), order)
  return shown.map(one => [
    { text: one.row.load },
    { text: coresCell(one) },
    { text: cornerCell(one) },
    ...cellsOf(one.row),
  ])
}

const plateColumns: readonly Column[] = [
  ...keys,
  { head: 'wet °C', side: 'right' },
  { head: 'above K', side: 'right' },
  { head: 'drive A', side: 'right' },
  { head: 'drive W', side: 'right' },
  { head: 'coolant °C', side: 'right' },
  { head: 'fan %', side: 'right' },
]

/** What a cold plate takes and how far it is from the dew or frost point; nothing for coolers that cool by air alone. */
function plateText(profile: PredictedProfile, show: PredictShow, paint: Paint, width: number): string {
  if (!runsCold(profile.evaluation.input.bench?.cooler)) return ''
  const cellsOf = (row: PredictionFigures): Cell[] => {
    const above = row.plate_c === null ? null : row.plate_c - row.wet_c
    const cell = figure(above, 1)
    return [
      figure(row.wet_c, 1),
      above !== null && above <= 0 ? { ...cell, shown: paint('yellow', cell.text) } : cell,
      figure(row.drive_a, 2),
      figure(row.drive_w, 1),
      figure(row.coolant_c, 1),
      figure(row.fan_pct, 0),
    ]
  }
  return tableText(plateColumns, tableRows(profile, show, wetterFirst, cellsOf), width)
}

/** What each group of cores does; nothing where all cores are alike. The figures above are those of the first busy one. */
function groupText(profile: PredictedProfile, show: PredictShow, width: number): string {
  const names = profile.rows.find(({ groups }) => groups !== undefined)?.groups?.map(({ group }) => group) ?? []
  if (names.length === 0) return ''
  const cellsOf = ({ groups = [] }: PredictionFigures): Cell[] => groups.map(one => ({ text: groupClockText(one) }))
  const groupColumns = names.map(name => ({ head: `${name} MHz`, side: 'right' as const }))
  return tableText([...keys, ...groupColumns], tableRows(profile, show, worseFirst, cellsOf), width)
}

const intervalColumns: readonly Column[] = [
  ...keys,
  { head: 'MHz', side: 'right' },
  { head: 'watts', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'plate °C', side: 'right' },
  { head: 'margin W', side: 'right' },
  { head: 'by', side: 'left' },
]

/** What `±` makes of the figures. */
function intervalText(profile: PredictedProfile, show: PredictShow, width: number): string {
  const { rows } = profile
  if (rows.every(({ interval }) => interval === undefined))
    return '  every constant of this bench is stated without ±: no intervals\n'
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
  const how = draws ? `; draws: ${drawsText} decide, since linear propagation does not describe the figures` : ''
  return `${wrapped(`95 % intervals from ${intervalSource(profile.evaluation)}${how}`, '  ', width)}${tableText(intervalColumns, tableRows(profile, show, worseFirst, cellsOf), width)}`
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

function profileText(profile: PredictedProfile, show: PredictShow, paint: Paint, width: number): string {
  const { file, line, evaluation, rows, unread } = profile
  const { definition, part, cooler, room, board } = evaluation.profile
  const rests = [part, cooler, room, board].flatMap(one => (one === undefined ? [] : `${one.kind} ${one.name}`))
  const head = headText(paint, `profile ${definition.name}`, `${file}:${line}`)
  if (rows.length === 0) return `${head}  no prediction\n`
  const assumed = assumedText(rows)
  return [
    head,
    unread === undefined ? '' : wrapped(unread, '  ', width),
    wrapped(rests.join(', '), '  ', width),
    tableText(
      columns,
      tableRows(profile, show, worseFirst, row => figureCells(row, paint)),
      width,
    ),
    groupText(profile, show, width),
    plateText(profile, show, paint, width),
    show.intervals ? intervalText(profile, show, width) : '',
    assumed === '' ? '' : wrapped(`assumed: ${assumed}`, '  ', width),
  ].join('')
}

/** Whether something stands behind a row that is not shown: other corners, or other core counts. */
function isCut({ evaluation, rows }: PredictedProfile): boolean {
  return mergedCounts(worstCorners(inFileOrder(evaluation, rows))).length < rows.length
}

export function predictText(profiles: readonly PredictedProfile[], io: Io, show: PredictShow): string {
  if (profiles.length === 0) return 'No profiles here.\n'
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  const texts = profiles.map(profile => profileText(profile, show, paint, width))
  const cut = !show.all && profiles.some(isCut)
  if (cut)
    texts.push(
      wrapped('The worst corner of each load; core counts at one clock share a row. --all shows every one.', '', width),
    )
  if (!show.intervals && profiles.some(({ evaluation }) => restsOnUsual(evaluation)))
    texts.push(
      wrapped(
        'Usual values count for what is left out: --uncertainty shows how far off the figures may be.',
        '',
        width,
      ),
    )
  return texts.join('\n')
}
