/** Forms of the vocabulary as one readable line: words as they are written, values in capitals. */

import type { Dimension } from './units/units.ts'
import type { Bounds, Form, Slot, Word } from './vocabulary/types.ts'

const dimensionWord: Readonly<Record<Dimension, string>> = {
  voltage: 'VOLTAGE',
  current: 'CURRENT',
  power: 'POWER',
  temperature: 'TEMPERATURE',
  'temperature-difference': 'DIFFERENCE',
  frequency: 'FREQUENCY',
  resistance: 'RESISTANCE',
  capacitance: 'CAPACITANCE',
  'thermal-resistance': 'THERMAL-RESISTANCE',
  'thermal-conductance': 'THERMAL-CONDUCTANCE',
  'heat-capacity': 'HEAT-CAPACITY',
  'voltage-per-kelvin': 'VOLTAGE-PER-KELVIN',
  time: 'TIME',
  percent: 'PERCENT',
  ratio: 'RATIO',
}

/** A bound with its unit, `0x`, `0.25 V`; whole hours as such. */
export function boundText(value: number, unit: string): string {
  if (unit === '' || unit === 'x') return `${value}${unit}`
  return unit === 's' && value > 0 && value % 3600 === 0 ? `${value / 3600} h` : `${value} ${unit}`
}

/** One slot, as it is described in a form. */
export function describeSlot(slot: Slot): string {
  switch (slot.slot) {
    case 'literal':
      return slot.word
    case 'choice':
      return slot.words.join('|')
    case 'quantity':
      return dimensionWord[slot.dimension]
    case 'range': {
      const value = dimensionWord[slot.dimension]
      return slot.single === true ? `${value} [to ${value}]` : `${value} to ${value}`
    }
    case 'number':
      return slot.whole === true ? 'COUNT' : slot.signed === true ? '[-]NUMBER' : 'NUMBER'
    case 'count-range':
      return 'COUNT [to COUNT]'
    case 'cores':
      return 'COUNT [to COUNT] cores'
    case 'signed': {
      const sign = slot.signs === '+-' ? '+|-' : slot.signs
      return `${sign}${slot.layout === 'spaced' ? ' ' : ''}${dimensionWord[slot.dimension]}`
    }
    case 'unit':
      return 'UNIT'
    case 'date':
      return 'DATE [TIME]'
    case 'reference':
      return slot.kind.toUpperCase()
    case 'defines':
      return 'NAME'
    case 'part-name': {
      const name = slot.of === 'either' ? 'GROUP|RAIL' : slot.of.toUpperCase()
      return slot.after === true ? `[${name}]` : name
    }
    case 'string':
      return `"${slot.name.toUpperCase()}"`
    case 'compare':
      return '>=|<='
    case 'code':
      return 'CODE'
    case 'setting':
      return 'SETTING'
    case 'optional':
      return `[${describeSlots(slot.slots)}]`
    case 'any-order':
      return slot.forms.map(form => `[${describeSlots(form)}]`).join(' ')
  }
}

function describeSlots(slots: readonly Slot[]): string {
  return slots.map(describeSlot).join(' ')
}

function sameSlot(a: Slot, b: Slot | undefined): boolean {
  return b !== undefined && describeSlot(a) === describeSlot(b)
}

/** Where one form is the beginning of another, the two become one, with the rest in brackets. */
function joined(forms: readonly Form[]): Form[] {
  const result: Form[] = []
  for (const form of forms) {
    const beginning = forms.find(
      other => other.length < form.length && other.every((slot, index) => sameSlot(slot, form[index])),
    )
    const isBeginning = forms.some(
      other => other.length > form.length && form.every((slot, index) => sameSlot(slot, other[index])),
    )
    if (isBeginning) continue
    if (beginning === undefined) result.push(form)
    else result.push([...beginning, { slot: 'optional', slots: form.slice(beginning.length) }])
  }
  return result
}

/**
 * The forms of a word, each as one readable line with the key word, like `leakage POWER at VOLTAGE TEMPERATURE`.
 * Brackets hold what may be left out, `|` stands between alternatives of one place; `± …`, which may follow
 * every constant of the bench, is not shown.
 */
export function describeForms(word: Word): string[] {
  const block = word.block === undefined ? [] : ['{ … }']
  const key = word.word === '' ? [] : [word.word]
  return joined(word.forms).map(form => [...key, ...form.map(describeSlot), ...block].join(' '))
}

/** Bounds in words: `above 0 V`, `18 °C to 24 °C`, `at most 100 %`. */
export function describeBounds(bounds: Bounds, unit: string): string {
  const { min, max, above, below } = bounds
  if (min !== undefined && max !== undefined) return `${boundText(min, unit)} to ${boundText(max, unit)}`
  const parts: string[] = []
  if (min !== undefined) parts.push(`at least ${boundText(min, unit)}`)
  if (above !== undefined) parts.push(`above ${boundText(above, unit)}`)
  if (max !== undefined) parts.push(`at most ${boundText(max, unit)}`)
  if (below !== undefined) parts.push(`below ${boundText(below, unit)}`)
  return parts.join(' and ')
}

/** What a word that changes no prediction is there for; undefined for all others. */
export function effectText(word: Word): string | undefined {
  if (word.carried === true) return 'Carried and shown; it changes no prediction and no finding.'
  return word.judges === true ? 'It decides what is found, and changes no prediction.' : undefined
}
