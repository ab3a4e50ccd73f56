import type { Match } from '../../../grammar/values.ts'
import type { Place } from '../../../grammar/vocabulary/index.ts'
import type { Part } from '../../model/types.ts'
import { counts, quantity } from '../../semantic/definitions.ts'
import { plain } from '../figures.ts'

/** The row that continues a table. */
export interface NextRow {
  readonly label: string
  readonly snippet: string
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

function nextStep(rows: readonly Match[], part: Part | undefined): NextRow | undefined {
  const covered = Math.max(0, ...rows.map(one => counts(one, 'cores')?.to ?? 0))
  const cores = part?.cores ?? covered + 2
  if (covered >= cores) return undefined
  const slowest = Math.min(...rows.map(one => ratioOf(one) ?? Number.POSITIVE_INFINITY))
  const ratio = Number.isFinite(slowest) ? slowest - (part?.ratioStep ?? 1) : (part?.ratioHigh ?? 40)
  const from = covered + 1
  return from === cores
    ? row([from, ratio], `? ${from === 1 ? 'core' : 'cores'} ?x`)
    : row([from, cores, ratio], '? to ? cores ?x')
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
 * The row that would continue a table after the rows it has.
 * @param part the part the table is for, where it is known
 */
export function nextRow(place: Place, rows: readonly Match[], part: Part | undefined): NextRow | undefined {
  switch (place) {
    case 'steps':
      return nextStep(rows, part)
    case 'bands':
      return nextBand(rows, part)
    case 'needs':
      return nextNeed(rows)
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
