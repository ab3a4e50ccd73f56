/** The place in a statement's items that matching has reached, and the reading of numbers, units and words there. */

import type { Item, Span, Statement } from './tree.ts'
import { baseUnit, type Dimension, dimensionName, findUnit, toBase, type Unit, unitLike } from './units/units.ts'
import type { MatchProblem, Quantity, SlotItems, Value } from './values.ts'
import type { Bounds, Place } from './vocabulary/types.ts'

export interface Cursor {
  readonly items: readonly Item[]
  readonly statement: Statement
  readonly place: Place
  at: number
  readonly values: Map<string, Value>
  readonly slots: SlotItems[]
  readonly problems: MatchProblem[]
  /** The slots' own problems (a wrong unit) do not stop the matching; a missing item does. */
  stopped: boolean
}

export function expected(
  cursor: Cursor,
  what: string,
  more: { insert?: string; words?: readonly string[] } = {},
): void {
  const item = cursor.items[cursor.at]
  const before = cursor.items[cursor.at - 1]
  const start = item?.start ?? before?.start ?? cursor.statement.start
  const end = item?.end ?? before?.end ?? cursor.statement.end
  cursor.problems.push({ problem: 'expected', what, start, end, ...more })
  cursor.stopped = true
}

export function checkBounds(
  cursor: Cursor,
  value: number,
  bounds: Bounds | undefined,
  item: Span,
  unit: string,
  name: string,
): void {
  if (bounds === undefined) return
  const { min = -Infinity, max = Infinity, above = -Infinity, below = Infinity } = bounds
  if (value >= min && value <= max && value > above && value < below) return
  // Without its unit nobody knows what it is.
  const hasUnitProblem = (one: MatchProblem): boolean => one.problem.startsWith('unit-') && one.end >= item.end
  if (cursor.problems.some(one => hasUnitProblem(one) && one.start <= item.start)) return
  cursor.problems.push({ problem: 'value-range', bounds, unit, name, start: item.start, end: item.end })
}

export type NumberItem = Extract<Item, { kind: 'number' }>

/** The unit that was meant where another stands: kelvin for degrees and the other way round. */
export function suggestedUnit(found: Unit, dimension: Dimension): string | undefined {
  if (dimension === 'temperature' && found.symbol === 'K') return '°C'
  if (dimension === 'temperature-difference' && found.symbol === '°C') return 'K'
  return undefined
}

const baseOf = (dimension: Dimension): Unit => findUnit(baseUnit[dimension]) as Unit

/**
 * Reads a number with its unit; a missing or wrong unit is noted and the matching goes on.
 * @param meant the unit of a number that has none, where the other end of a range says it
 */
export function readQuantity(cursor: Cursor, dimension: Dimension, meant?: Unit): Quantity | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'number') {
    expected(cursor, `${dimensionName[dimension]} in ${baseUnit[dimension]}`)
    return undefined
  }
  cursor.at++
  const { start, end } = item
  if (item.unit === undefined && meant !== undefined)
    return { kind: 'quantity', value: toBase(item.value, meant), dimension, unit: meant, start, end }
  if (item.unit === undefined) {
    const next = cursor.items[cursor.at]
    const isMinutes = dimension === 'time' && next?.kind === 'word' && next.text === 'm'
    const spelled = next?.kind === 'word' ? (isMinutes ? findUnit('min') : unitLike(next.text)) : undefined
    if (next?.kind === 'word' && spelled !== undefined) {
      cursor.at++
      const candidates = [spelled.symbol]
      cursor.problems.push({
        problem: 'unknown-word',
        word: next.text,
        place: cursor.place,
        candidates,
        start: next.start,
        end: next.end,
      })
    } else cursor.problems.push({ problem: 'unit-missing', dimension, suggestion: baseUnit[dimension], start, end })
    return { kind: 'quantity', value: item.value, dimension, unit: baseOf(dimension), start, end }
  }
  const unit = findUnit(item.unit.text) as Unit
  if (unit.dimension !== dimension) {
    const place = { unitStart: item.unit.start, unitEnd: item.unit.end }
    cursor.problems.push({
      problem: 'unit-mismatch',
      dimension,
      found: unit,
      suggestion: suggestedUnit(unit, dimension),
      start,
      end,
      ...place,
    })
    return { kind: 'quantity', value: item.value, dimension, unit: baseOf(dimension), start, end }
  }
  return { kind: 'quantity', value: toBase(item.value, unit), dimension, unit, start, end }
}

/** A quantity that may be negative: its bounds say whether it makes sense. A `+` means a difference and stands in its own slot. */
export function readPossiblyNegative(cursor: Cursor, dimension: Dimension, meant?: Unit): Quantity | undefined {
  const sign = cursor.items[cursor.at]
  if (sign?.kind !== 'sign' || sign.sign !== '-' || cursor.items[cursor.at + 1]?.kind !== 'number')
    return readQuantity(cursor, dimension, meant)
  cursor.at++
  const quantity = readQuantity(cursor, dimension, meant)
  return quantity === undefined ? undefined : { ...quantity, value: -quantity.value, start: sign.start }
}

/** `± …` behind a value: one standard uncertainty in the base unit of the value's dimension. */
export function readUncertainty(
  cursor: Cursor,
  value: number,
  dimension: Dimension | undefined,
  unit: Unit | undefined,
): { uncertainty: number; end: number } | undefined {
  if (cursor.items[cursor.at]?.kind !== 'plus-minus') return undefined
  cursor.at++
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'number') {
    expected(cursor, 'the uncertainty')
    return undefined
  }
  cursor.at++
  const { end } = item
  if (item.unit === undefined) return { uncertainty: unit === undefined ? item.value : toBase(item.value, unit), end }
  const own = findUnit(item.unit.text) as Unit
  if (own.dimension === 'percent' && dimension !== 'percent')
    return { uncertainty: (Math.abs(value) * item.value) / 100, end }
  const wanted = dimension === 'temperature' ? 'temperature-difference' : dimension
  if (own.dimension !== wanted) {
    const suggestion = wanted === undefined ? undefined : suggestedUnit(own, wanted)
    const place = { unitStart: item.unit.start, unitEnd: item.unit.end }
    cursor.problems.push({
      problem: 'unit-mismatch',
      dimension: wanted,
      found: own,
      suggestion,
      start: item.start,
      end,
      ...place,
    })
  }
  return { uncertainty: toBase(item.value, own), end }
}

/** Reads a number without a unit. */
export function readPure(cursor: Cursor, what: string): NumberItem | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'number') {
    expected(cursor, what)
    return undefined
  }
  cursor.at++
  if (item.unit !== undefined) {
    const found = findUnit(item.unit.text) as Unit
    const place = { unitStart: item.unit.start, unitEnd: item.unit.end }
    cursor.problems.push({
      problem: 'unit-mismatch',
      dimension: undefined,
      found,
      suggestion: '',
      start: item.start,
      end: item.end,
      ...place,
    })
  }
  return item
}

export function readWhole(cursor: Cursor, what: string): NumberItem | undefined {
  const item = readPure(cursor, what)
  if (item?.number.text.includes('.') === true && /^\d+\.\d+$/.test(item.number.text))
    cursor.problems.push({ problem: 'not-whole', start: item.start, end: item.end })
  return item
}

export function takeWord(cursor: Cursor, ...words: string[]): boolean {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'word' || !words.includes(item.text)) return false
  cursor.at++
  return true
}

/** A minus sign before a pure number, taken where a number follows. */
export function takeMinus(cursor: Cursor): Item | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'sign' || item.sign !== '-' || cursor.items[cursor.at + 1]?.kind !== 'number') return undefined
  cursor.at++
  return item
}

/** The text of the items within a span, in the formatter's spelling. */
export function spell(cursor: Cursor, span: Span): string {
  let text = ''
  for (const item of cursor.items) {
    if (item.start < span.start || item.end > span.end) continue
    if (item.kind === 'sign') text += item.sign
    if (item.kind !== 'number') continue
    text += item.number.text
    if (item.unit !== undefined) text += item.unit.canonical === 'x' ? 'x' : ` ${item.unit.canonical}`
  }
  return text
}
