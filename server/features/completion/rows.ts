/** The row that continues a table. */

import type { Match } from '../../../grammar/values.ts'
import type { Place } from '../../../grammar/vocabulary/index.ts'
import type { Part } from '../../model/types.ts'
import { counts, quantity } from '../../semantic/definitions.ts'
import { plain } from '../../wording/figures.ts'
import type { CoreCounts, HeldRatio, NoneHeld } from './ratio.ts'

/** The row that continues a table. */
export interface NextRow {
  readonly label: string
  readonly snippet: string
  /** Why these figures, where there is more to say than that they go on. */
  readonly detail?: string
}

/** What a table's rows are made for, as far as it is known. */
export interface TableContext {
  readonly part: Part | undefined
  /** All sound rows of the table, those behind the cursor too. */
  readonly all: readonly Match[]
  /** The highest ratio that holds for these core counts, at most this one. */
  readonly held: (counts: CoreCounts, atMost: number) => HeldRatio | NoneHeld | undefined
}

function row(cells: readonly (string | number)[], template: string): NextRow {
  let count = 0
  const snippet = template.replace(/\?/g, () => {
    const cell = cells[count++]
    return `\${${count}:${typeof cell === 'number' ? plain(cell) : cell}}`
  })
  let index = 0
  const label = template.replace(/\?/g, () => {
    const cell = cells[index++]
    return typeof cell === 'number' ? plain(cell) : `${cell}`
  })
  return { label, snippet }
}

const ratioOf = (match: Match): number | undefined => quantity(match, 'ratio')?.value

/** The slowest ratio that fewer cores have: more of them are not to be faster. */
export function slowestBelow(rows: readonly Match[], from: number): number {
  const below = rows.filter(one => (counts(one, 'cores')?.from ?? from) < from)
  return Math.min(...below.map(one => ratioOf(one) ?? Number.POSITIVE_INFINITY))
}

/** The first core counts without a row. */
function firstGap(rows: readonly Match[], cores: number): CoreCounts | undefined {
  const isCovered = (count: number): boolean =>
    rows.some(one => {
      const range = counts(one, 'cores')
      return range !== undefined && count >= range.from && count <= range.to
    })
  let from = 1
  while (from <= cores && isCovered(from)) from++
  if (from > cores) return undefined
  let to = from
  while (to < cores && !isCovered(to + 1)) to++
  return { from, to }
}

/** A row of `steps` up to where its ratio goes. */
function begun({ from, to }: CoreCounts): NextRow {
  return from === to ? row([from], `? ${from === 1 ? 'core' : 'cores'} `) : row([from, to], '? to ? cores ')
}

function nextStep({ part, all, held }: TableContext): NextRow | undefined {
  const most = Math.max(0, ...all.map(one => counts(one, 'cores')?.to ?? 0))
  const gap = firstGap(all, part?.cores ?? most + 2)
  if (gap === undefined) return undefined
  const slowest = slowestBelow(all, gap.from)
  const found = held(gap, slowest)
  if (found !== undefined && 'none' in found) return { ...begun(gap), detail: noneText(found) }
  // Where nothing can be predicted the row goes on a step below the ones before.
  const ratio = found?.ratio ?? (Number.isFinite(slowest) ? slowest - (part?.ratioStep ?? 1) : (part?.ratioHigh ?? 40))
  const next =
    gap.from === gap.to
      ? row([gap.from, ratio], `? ${gap.from === 1 ? 'core' : 'cores'} ?x`)
      : row([gap.from, gap.to, ratio], '? to ? cores ?x')
  return found === undefined ? next : { ...next, detail: heldText(found) }
}

/** What a ratio that holds is offered with: short, since the editor cuts what is longer than its list is wide. */
export function heldText({ bandsAct, why }: HeldRatio): string {
  return `${bandsAct ? 'bands act' : 'holds'} (${why})`
}

/** Why no ratio is offered. */
export function noneText({ none }: NoneHeld): string {
  return `none holds (${none})`
}

function nextBand(rows: readonly Match[], part: Part | undefined): NextRow {
  const last = rows.at(-1)
  const range = last && counts(last, 'cores')
  const above = (last && quantity(last, 'above')?.value) ?? 65
  const drop = (last && quantity(last, 'drop')?.value) ?? 0
  const [from, to] = [range?.from ?? 1, range?.to ?? part?.cores ?? 2]
  const next = [last === undefined ? above : above + 10, drop + (part?.ratioStep ?? 1)]
  return from === to
    ? row([from, ...next], `? ${from === 1 ? 'core' : 'cores'} above ? °C -?x`)
    : row([from, to, ...next], '? to ? cores above ? °C -?x')
}

function nextNeed(rows: readonly Match[]): NextRow {
  const last = rows.at(-1)
  const before = rows.at(-2)
  const ratio = (last && ratioOf(last)) ?? 38
  const volts = (last && quantity(last, 'voltage')?.value) ?? 0.95
  if (last === undefined) return row([ratio, plain(volts)], '?x ? V')
  const ratioBefore = before && ratioOf(before)
  const voltsBefore = before && quantity(before, 'voltage')?.value
  const step = ratioBefore === undefined || ratioBefore >= ratio ? 2 : ratio - ratioBefore
  const rise = voltsBefore === undefined || voltsBefore >= volts ? 0.05 : volts - voltsBefore
  return row([ratio + step, (volts + rise).toFixed(3)], '?x ? V')
}

/** The form of a point, with the figures of the one before it to be overwritten. */
function nextPoint(rows: readonly Match[]): NextRow {
  const last = rows.at(-1)
  const before = (name: string, otherwise: string): string => {
    const value = last && quantity(last, name)?.value
    return value === undefined ? otherwise : plain(value)
  }
  const figures = [before('clock', '4.80'), before('voltage', '1.160'), before('power', '150'), before('die', '75')]
  return row([...figures, before('air', '22')], '? GHz ? V ? W ? °C air ? °C')
}

function nextFan(rows: readonly Match[]): NextRow | undefined {
  const last = rows.at(-1)
  const coolant = (last && quantity(last, 'coolant')?.value) ?? 18
  const duty = (last && quantity(last, 'duty')?.value) ?? 5
  return duty >= 100 ? undefined : row([coolant + 10, Math.min(100, duty + 25)], '? °C ? %')
}

function nextRadiator(rows: readonly Match[]): NextRow | undefined {
  const last = rows.at(-1)
  if (last === undefined) return row([100, '0.045'], '? % ? K/W')
  const duty = quantity(last, 'duty')?.value ?? 100
  const resistance = quantity(last, 'resistance')?.value ?? 0.05
  // Two rows make a power law; a third one says nothing that could be used.
  if (rows.length > 1) return undefined
  return duty < 100
    ? row([100, (resistance / 2).toFixed(3)], '? % ? K/W')
    : row([20, (resistance * 2).toFixed(3)], '? % ? K/W')
}

/**
 * The row that would continue a table.
 * @param rows those before the cursor
 */
export function nextRow(place: Place, rows: readonly Match[], context: TableContext): NextRow | undefined {
  const { part } = context
  switch (place) {
    case 'steps':
      return nextStep(context)
    case 'bands':
      return nextBand(rows, part)
    case 'needs':
      return nextNeed(rows)
    case 'known':
      return nextPoint(rows)
    case 'fan':
      return nextFan(rows)
    case 'radiator':
      return nextRadiator(rows)
    case 'also':
      return row(['setting', 'value'], '"?" "?"')
    case 'menu':
      return row(['core-voltage', 'page', 'field'], '? "?" "?"')
    default:
      return undefined
  }
}
