/** Short builders, so that the table reads like the language it describes. */

import type { Dimension } from '../units/units.ts'
import type { Bounds, DefinitionKind, Form, Slot } from './types.ts'

export const literal = (word: string): Slot => ({ slot: 'literal', word })
export const choice = (name: string, ...words: string[]): Slot => ({ slot: 'choice', name, words })
export const yesNo = choice('value', 'yes', 'no')
export const string = (name: string): Slot => ({ slot: 'string', name })
export const reference = (kind: DefinitionKind): Slot => ({ slot: 'reference', name: kind, kind })
export const defines = (kind: DefinitionKind): Slot => ({ slot: 'defines', name: 'name', kind })
/** The group that a statement is for, where it is for one alone. */
export const ofGroup: Slot = { slot: 'part-name', name: 'group', of: 'group', after: true }
/** The supply rail that a statement is for, where it is for one alone. */
export const ofRail: Slot = { slot: 'part-name', name: 'rail', of: 'rail', after: true }
export const unitOf = (dimension: Dimension): Slot => ({ slot: 'unit', name: 'unit', dimension })
export const optional = (...slots: Slot[]): Slot => ({ slot: 'optional', slots })
export const anyOrder = (...forms: Form[]): Slot => ({ slot: 'any-order', forms })

/** A setting of the profile: entered as it stands, so no `±`. */
export function setting(name: string, dimension: Dimension, bounds?: Bounds): Slot {
  return { slot: 'quantity', name, dimension, ...(bounds ? { bounds } : {}) }
}

/** A constant of the bench: measured or read from a datasheet, so `±` may follow. */
export function constant(name: string, dimension: Dimension, bounds?: Bounds): Slot {
  return { slot: 'quantity', name, dimension, uncertain: true, ...(bounds ? { bounds } : {}) }
}

/** The same slot as a cell of this width in a table of many lines. */
export function cell(slot: Slot, width: number): Slot {
  return slot.slot === 'literal' || !isSingle(slot) ? slot : { ...slot, width }
}

/** Whether a slot stands for itself and not for slots within it. */
export function isSingle(slot: Slot): slot is Exclude<Slot, { slot: 'optional' | 'any-order' }> {
  return slot.slot !== 'optional' && slot.slot !== 'any-order'
}

/** The slots of a form, those within others among them, in their order. */
export function singleSlots(form: Form): Exclude<Slot, { slot: 'optional' | 'any-order' }>[] {
  return form.flatMap(slot =>
    isSingle(slot) ? [slot] : slot.slot === 'optional' ? singleSlots(slot.slots) : slot.forms.flatMap(singleSlots),
  )
}

/** How the errors of two constants are correlated. */
export const coefficient: Slot = { slot: 'number', name: 'value', signed: true, bounds: { min: -1, max: 1 } }
/** Which row of a radiator, by its fan duty. */
export const rowOf = (name: string): Slot => setting(name, 'percent', { above: 0, max: 100 })

/** Cores of a part and of anything that is counted by them: far beyond any processor, and few enough to be gone through. */
const mostCores = 1024
export const coreCount: Bounds = { min: 1, max: mostCores }
/** Cores that a load keeps busy; of one group among several it may be none. */
export const busyCount: Bounds = { min: 0, max: mostCores }
/** So many statements of one word, and so many rows of a table, are read in one block. */
export const mostInBlock = 1024
/** Of a longer file no more lines are read: each character may be a token, and a token takes some hundred bytes. */
export const mostCharacters = 2_000_000
/** A profile starts from so many others at the most, one from the next. */
export const mostInherited = 64

export const positive: Bounds = { above: 0 }
export const notNegative: Bounds = { min: 0 }
/** Ratios are counted down step by step: far beyond any processor, and few enough to be counted. */
export const ratioBounds: Bounds = { above: 0, max: 1000 }
export const ratioStepBounds: Bounds = { min: 0.05, max: 1000 }
/** Times that a load is followed over, tick by tick: at the most a day. */
export const followedTime: Bounds = { above: 0, max: 24 * 3600 }
/** With which probability a load should hold, and for how long: up to six weeks. */
export const heldShare: Bounds = { min: 1, max: 99.999 }
export const heldTime: Bounds = { above: 0, max: 1000 * 3600 }
/** Temperatures a bench can have; wide enough for any coolant and any solder joint. */
export const benchTemperature: Bounds = { min: -100, max: 400 }
