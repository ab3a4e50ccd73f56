/** Parts of a statement that stand in any order: told apart by their first word, or by the dimension of a number. */
import { type Cursor, expected, spell, suggestedUnit } from './cursor.ts'
import type { Item } from './tree.ts'
import { baseUnit, type Dimension, dimensionName, findUnit, type Unit } from './units/units.ts'
import type { MatchProblem } from './values.ts'
import type { Form, Slot } from './vocabulary/types.ts'

/** The words that a form of an any-order slot begins with; none where it begins with a quantity. */
const beginnings = ([first]: Form): readonly string[] =>
  first?.slot === 'literal' ? [first.word] : first?.slot === 'choice' ? first.words : []

/** The words with which a row can begin whose parts stand in any order. */
export function wordsInAnyOrder(form: Form): readonly string[] {
  const [first] = form
  return first?.slot === 'any-order' ? first.forms.flatMap(beginnings) : []
}

const dimensionOf = ([first]: Form): Dimension | undefined => (first?.slot === 'quantity' ? first.dimension : undefined)

/** The item at the cursor, and the number behind a minus sign. */
function valueAt(cursor: Cursor): Item | undefined {
  const item = cursor.items[cursor.at]
  const next = cursor.items[cursor.at + 1]
  return item?.kind === 'sign' && next?.kind === 'number' ? next : item
}

/** The form that the item at the cursor begins; kelvin where degrees are meant begin theirs. */
function begunForm(cursor: Cursor, forms: readonly Form[]): Form | undefined {
  const item = valueAt(cursor)
  if (item?.kind === 'word') return forms.find(form => beginnings(form).includes(item.text))
  if (item?.kind !== 'number' || item.unit === undefined) return undefined
  const unit = findUnit(item.unit.text) as Unit
  return forms.find(form => {
    const dimension = dimensionOf(form)
    return dimension !== undefined && (dimension === unit.dimension || suggestedUnit(unit, dimension) !== undefined)
  })
}

/** The reading that a number without a unit is meant to be: the one after the last that was read and is not read later. */
function meantForm(cursor: Cursor, forms: readonly Form[], open: readonly Form[]): Form | undefined {
  const later = new Set(
    cursor.items
      .slice(cursor.at)
      .map(item =>
        item.kind === 'number' && item.unit !== undefined ? findUnit(item.unit.text)?.dimension : undefined,
      ),
  )
  const readings = open.filter(form => dimensionOf(form) !== undefined && !later.has(dimensionOf(form)))
  const last = forms.findLastIndex(form => dimensionOf(form) !== undefined && !open.includes(form))
  return readings.find(form => forms.indexOf(form) > last) ?? readings[0]
}

/** Whether a number is one that this slot takes, by its unit. */
function takes(slot: Slot | undefined, item: Item | undefined): boolean {
  if (item?.kind !== 'number') return false
  const dimension = item.unit === undefined ? undefined : findUnit(item.unit.text)?.dimension
  return slot?.slot === 'number' ? dimension === undefined : slot?.slot === 'quantity' && slot.dimension === dimension
}

/** `22 °C air` for `air 22 °C`: a word whose value stands before it and not behind it. */
function swappedAt(cursor: Cursor, open: readonly Form[]): MatchProblem | undefined {
  const value = valueAt(cursor) as Item
  const at = cursor.items.indexOf(value)
  const [word, behind] = [cursor.items[at + 1], cursor.items[at + 2]]
  if (word?.kind !== 'word') return undefined
  const name = word.text === 'core' ? 'cores' : word.text
  const slot = open.find(form => form.length > 1 && beginnings(form).includes(name))?.at(-1)
  if (!takes(slot, value) || takes(slot, behind) || behind?.kind === 'sign') return undefined
  const { start } = cursor.items[cursor.at] as Item
  const number = spell(cursor, { start, end: value.end })
  const candidates = [`${name} ${number}`]
  const { place } = cursor
  return { problem: 'unknown-word', word: `${number} ${word.text}`, place, candidates, start, end: word.end }
}

/** What is wrong with an item that begins none of the forms that are still open. */
function noteStranger(cursor: Cursor, forms: readonly Form[], open: readonly Form[]): void {
  if (begunForm(cursor, forms) === undefined) {
    const words = open.flatMap(beginnings)
    expected(cursor, [...readingsOf(open), ...words.map(word => `\`${word}\``)].join(', '), { words })
    return
  }
  const { start } = cursor.items[cursor.at] as Item
  const { end } = valueAt(cursor) as Item
  cursor.problems.push({ problem: 'again', start, end })
  cursor.stopped = true
}

const readingsOf = (forms: readonly Form[]): readonly string[] =>
  forms
    .flatMap(form => dimensionOf(form) ?? [])
    .map(dimension => `${dimensionName[dimension]} in ${baseUnit[dimension]}`)

/**
 * Fills forms that stand in any order until the statement ends.
 * @param fill how one form is filled
 */
export function fillInAnyOrder(
  cursor: Cursor,
  forms: readonly Form[],
  fill: (cursor: Cursor, form: Form) => void,
): void {
  const open = [...forms]
  if (cursor.at >= cursor.items.length) expected(cursor, readingsOf(forms).join(', '))
  while (!cursor.stopped && cursor.at < cursor.items.length) {
    const item = valueAt(cursor)
    const swapped = swappedAt(cursor, open)
    if (swapped !== undefined) {
      cursor.problems.push(swapped)
      cursor.stopped = true
      return
    }
    const isBare = item?.kind === 'number' && item.unit === undefined
    const form = isBare ? meantForm(cursor, forms, open) : begunForm(cursor, open)
    if (form === undefined) {
      noteStranger(cursor, forms, open)
      return
    }
    open.splice(open.indexOf(form), 1)
    fill(cursor, form)
  }
}
