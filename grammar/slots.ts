/** Matching of one form of the vocabulary against a statement's items. */

import { fillInAnyOrder } from './any-order.ts'
import {
  type Cursor,
  checkBounds,
  expected,
  readPossiblyNegative,
  readPure,
  readQuantity,
  readUncertainty,
  readWhole,
  spell,
  suggestedUnit,
  takeMinus,
  takeWord,
} from './cursor.ts'
import { isNameAfter } from './names-after.ts'
import type { Item, Span, Statement } from './tree.ts'
import { baseUnit, type Dimension, dimensionName, findUnit, type Unit, unitLike } from './units/units.ts'
import type { CountRange, MatchProblem, SlotItems, Value } from './values.ts'
import { menuSettings } from './vocabulary/index.ts'
import type { Bounds, Form, Place, Slot } from './vocabulary/types.ts'

export interface Fill {
  readonly form: Form
  readonly values: Map<string, Value>
  readonly slots: SlotItems[]
  readonly problems: MatchProblem[]
  /** How many items were taken before the first problem; the form that reached furthest is reported. */
  readonly reached: number
}

type Ends = Span & { readonly value: number }

function noteReversed(cursor: Cursor, low: Ends, high: Ends): void {
  if (low.value <= high.value) return
  const swapped = `${spell(cursor, high)} to ${spell(cursor, low)}`
  cursor.problems.push({ problem: 'range-reversed', swapped, start: low.start, end: high.end })
}

/** The unit at the end of `700 to 1450 mV`, where it stands for both. */
function unitBehindRange({ items, at }: Cursor, dimension: Dimension): Unit | undefined {
  const first = items[at]
  if (first?.kind === 'number' && first.unit !== undefined) return undefined
  const rest = items.slice(at).filter(item => item.kind !== 'sign')
  const [low, to, high] = rest
  if (low?.kind !== 'number' || low.unit !== undefined || high?.kind !== 'number' || high.unit === undefined)
    return undefined
  const unit = findUnit(high.unit.text)
  return to?.kind === 'word' && to.text === 'to' && unit?.dimension === dimension ? unit : undefined
}

function readRange(cursor: Cursor, slot: Extract<Slot, { slot: 'range' }>): Value | undefined {
  const unitSymbol = baseUnit[slot.dimension]
  const low = readPossiblyNegative(cursor, slot.dimension, unitBehindRange(cursor, slot.dimension))
  if (low === undefined) return undefined
  checkBounds(cursor, low.value, slot.bounds, low, unitSymbol, slot.name)
  if (!takeWord(cursor, 'to')) {
    if (slot.single === true) return { kind: 'range', low, high: low, start: low.start, end: low.end }
    expected(cursor, 'a range `A to B`')
    return undefined
  }
  const high = readPossiblyNegative(cursor, slot.dimension)
  if (high === undefined) return undefined
  checkBounds(cursor, high.value, slot.bounds, high, unitSymbol, slot.name)
  noteReversed(cursor, low, high)
  return { kind: 'range', low, high, start: low.start, end: high.end }
}

/** `8` or `1 to 8`. */
function readCounts(cursor: Cursor, bounds: Bounds | undefined, name: string): CountRange | undefined {
  const first = readWhole(cursor, 'a number of cores')
  if (first === undefined) return undefined
  checkBounds(cursor, first.value, bounds, first, '', name)
  if (!takeWord(cursor, 'to'))
    return { kind: 'counts', from: first.value, to: first.value, start: first.start, end: first.end }
  const second = readWhole(cursor, 'a number of cores')
  if (second === undefined) return undefined
  checkBounds(cursor, second.value, bounds, second, '', name)
  noteReversed(cursor, first, second)
  return { kind: 'counts', from: first.value, to: second.value, start: first.start, end: second.end }
}

function readText(
  cursor: Cursor,
  kind: 'word' | 'string',
  as: 'word' | 'name' | 'string',
  what: string,
): Value | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== kind) {
    expected(cursor, what)
    return undefined
  }
  cursor.at++
  return { kind: as, text: item.text, start: item.start, end: item.end }
}

function readChoice(cursor: Cursor, slot: { readonly words: readonly string[] }): Value | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'word' || !slot.words.includes(item.text)) {
    expected(cursor, slot.words.map(word => `\`${word}\``).join(', '), { words: slot.words })
    return undefined
  }
  cursor.at++
  return { kind: 'word', text: item.text, start: item.start, end: item.end }
}

function readSigned(cursor: Cursor, slot: Extract<Slot, { slot: 'signed' }>): Value | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'sign' || !slot.signs.includes(item.sign)) {
    expected(
      cursor,
      slot.signs === '+-' ? '`+` or `-`' : `\`${slot.signs}\``,
      item?.kind === 'number' ? { insert: slot.signs.charAt(0) } : {},
    )
    return undefined
  }
  cursor.at++
  const numberItem = cursor.items[cursor.at]
  const quantity = readQuantity(cursor, slot.dimension)
  if (quantity === undefined) return undefined
  checkBounds(cursor, quantity.value, slot.bounds, numberItem as Item, baseUnit[slot.dimension], slot.name)
  // A drop is kept as its size; only where both signs may stand does the sign carry meaning.
  const value = slot.signs === '+-' && item.sign === '-' ? -quantity.value : quantity.value
  return { ...quantity, value, start: item.start }
}

function readCompare(cursor: Cursor): Value | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'compare' || (item.operator !== '>=' && item.operator !== '<=')) {
    expected(cursor, '`>=` or `<=`')
    return undefined
  }
  cursor.at++
  return { kind: 'compare', text: item.operator, start: item.start, end: item.end }
}

/** A unit alone. One of another dimension is noted and the matching goes on, as with a quantity. */
function readUnit(cursor: Cursor, dimension: Dimension): Value | undefined {
  const item = cursor.items[cursor.at]
  const what = `the unit of ${dimensionName[dimension]}, like \`${baseUnit[dimension]}\``
  if (item?.kind === 'word' && unitLike(item.text) !== undefined) {
    const meant = unitLike(item.text) as Unit
    cursor.at++
    const { start, end } = item
    const candidates = [meant.symbol]
    cursor.problems.push({ problem: 'unknown-word', word: item.text, place: cursor.place, candidates, start, end })
    return { kind: 'unit', unit: meant, start, end }
  }
  if (item?.kind !== 'unit') {
    expected(cursor, what, item === undefined ? {} : { words: [] })
    return undefined
  }
  cursor.at++
  const unit = findUnit(item.text) as Unit
  const { start, end } = item
  if (unit.dimension !== dimension) {
    const suggestion = suggestedUnit(unit, dimension) ?? baseUnit[dimension]
    const at = { start, end, unitStart: start, unitEnd: end }
    cursor.problems.push({ problem: 'unit-mismatch', dimension, found: unit, suggestion, ...at })
  }
  return { kind: 'unit', unit, start, end }
}

function dateExists(text: string): boolean {
  const date = new Date(`${text}T00:00:00Z`)
  return !Number.isNaN(date.getTime()) && date.toISOString().startsWith(text)
}

/** A date, and the time of day where one stands behind it. */
function readDate(cursor: Cursor): Value | undefined {
  const item = cursor.items[cursor.at]
  if (item?.kind !== 'date' || !dateExists(item.text)) {
    expected(cursor, 'a date that exists, like `2026-01-12`')
    return undefined
  }
  cursor.at++
  const time = cursor.items[cursor.at]
  if (time?.kind !== 'time') return { kind: 'date', text: item.text, start: item.start, end: item.end }
  if (!/^(?:[01]?\d|2[0-3]):[0-5]\d$/.test(time.text)) {
    expected(cursor, 'a time of day, like `21:40`')
    return undefined
  }
  cursor.at++
  return { kind: 'date', text: `${item.text} ${time.text.padStart(5, '0')}`, start: item.start, end: time.end }
}

function readValue(
  cursor: Cursor,
  slot: Exclude<Slot, { slot: 'literal' | 'optional' | 'any-order' }>,
): Value | undefined {
  switch (slot.slot) {
    case 'choice':
      return readChoice(cursor, slot)
    case 'quantity': {
      const quantity = readPossiblyNegative(cursor, slot.dimension)
      if (quantity === undefined) return undefined
      checkBounds(cursor, quantity.value, slot.bounds, quantity, baseUnit[slot.dimension], slot.name)
      const spread =
        slot.uncertain === true ? readUncertainty(cursor, quantity.value, slot.dimension, quantity.unit) : undefined
      return spread === undefined ? quantity : { ...quantity, uncertainty: spread.uncertainty, end: spread.end }
    }
    case 'range':
      return readRange(cursor, slot)
    case 'number': {
      const sign = slot.signed === true ? takeMinus(cursor) : undefined
      const item = slot.whole === true ? readWhole(cursor, 'a whole number') : readPure(cursor, 'a number')
      if (item === undefined) return undefined
      const value = sign === undefined ? item.value : -item.value
      checkBounds(cursor, value, slot.bounds, item, '', slot.name)
      const spread = slot.uncertain === true ? readUncertainty(cursor, value, undefined, undefined) : undefined
      const start = sign?.start ?? item.start
      return {
        kind: 'number',
        value,
        start,
        end: spread?.end ?? item.end,
        ...(spread ? { uncertainty: spread.uncertainty } : {}),
      }
    }
    case 'count-range':
      return readCounts(cursor, cursor.values.has('group') ? slot.named : slot.bounds, slot.name)
    case 'cores': {
      const counts = readCounts(cursor, slot.bounds, slot.name)
      if (counts === undefined) return undefined
      if (!takeWord(cursor, 'core', 'cores')) {
        expected(cursor, '`cores`')
        return undefined
      }
      return { ...counts, end: (cursor.items[cursor.at - 1] as Item).end }
    }
    case 'signed':
      return readSigned(cursor, slot)
    case 'unit':
      return readUnit(cursor, slot.dimension)
    case 'date':
      return readDate(cursor)
    case 'reference':
      return readText(cursor, 'word', 'name', `the name of a ${slot.kind}`)
    case 'defines':
      return readText(cursor, 'word', 'name', `a name for this ${slot.kind}`)
    case 'part-name':
      return readText(cursor, 'word', 'name', `the name of a ${slot.of}`)
    case 'string':
      return readText(cursor, 'string', 'string', `${slot.name} in double quotes`)
    case 'compare':
      return readCompare(cursor)
    case 'code':
      return readText(cursor, 'word', 'word', 'the code of a check')
    case 'setting':
      return readChoice(cursor, { words: menuSettings })
  }
}

function fillSlots(cursor: Cursor, slots: readonly Slot[]): void {
  // A plain loop: this is done for every statement of a text.
  for (let index = 0; index < slots.length; index++) {
    if (cursor.stopped) return
    const slot = slots[index] as Slot
    const from = cursor.at
    if (slot.slot === 'part-name' && slot.after === true) {
      if (!isNameAfter(cursor.items, from, slots.slice(index + 1))) continue
    }
    if (slot.slot === 'optional') {
      if (cursor.at < cursor.items.length) fillSlots(cursor, slot.slots)
      continue
    }
    if (slot.slot === 'any-order') {
      fillInAnyOrder(cursor, slot.forms, fillSlots)
      continue
    }
    if (slot.slot === 'literal') {
      if (takeWord(cursor, slot.word)) cursor.slots.push({ slot, from, to: cursor.at })
      else expected(cursor, `\`${slot.word}\``, { words: [slot.word] })
      continue
    }
    const value = readValue(cursor, slot)
    if (value === undefined) return
    cursor.values.set(slot.name, value)
    cursor.slots.push({ slot, from, to: cursor.at })
  }
}

/**
 * Fills one form with the items of a statement from `skip` on.
 * Problems with a value alone (its unit, its bounds) do not stop the matching.
 */
export function fillForm(form: Form, statement: Statement, skip: number, place: Place): Fill {
  const cursor: Cursor = {
    items: statement.items,
    statement,
    place,
    at: skip,
    values: new Map(),
    slots: [],
    problems: [],
    stopped: false,
  }
  fillSlots(cursor, form)
  if (!cursor.stopped && cursor.at < cursor.items.length) {
    const first = cursor.items[cursor.at] as Item
    const last = cursor.items[cursor.items.length - 1] as Item
    cursor.problems.push({ problem: 'unexpected', start: first.start, end: last.end })
  }
  const { values, slots, problems } = cursor
  // At the same item, a form that took all is better than one that asks for more, and that says more than one that is full.
  const complete = !cursor.stopped && cursor.at >= cursor.items.length
  const reached = cursor.at + (complete ? 0.5 : cursor.stopped ? 0.25 : 0)
  return { form, values, slots, problems, reached }
}
