/** What a statement says once the vocabulary has given its items meaning by place. */

import type { Span, Statement } from './tree.ts'
import type { Dimension, Unit } from './units/units.ts'
import type { Bounds, Form, Place, Slot, Word } from './vocabulary/types.ts'

export interface Quantity extends Span {
  readonly kind: 'quantity'
  /** In the base unit of the dimension. */
  readonly value: number
  readonly dimension: Dimension
  readonly unit: Unit
  /** One standard uncertainty in the base unit (kelvin for a temperature); absent where none is stated. */
  readonly uncertainty?: number
}

export interface PureNumber extends Span {
  readonly kind: 'number'
  readonly value: number
  readonly uncertainty?: number
}

export interface RangeValue extends Span {
  readonly kind: 'range'
  readonly low: Quantity
  readonly high: Quantity
}

export interface CountRange extends Span {
  readonly kind: 'counts'
  readonly from: number
  readonly to: number
}

export interface TextValue extends Span {
  readonly kind: 'word' | 'name' | 'string' | 'compare' | 'date'
  readonly text: string
}

/** A unit that stands alone. */
interface UnitValue extends Span {
  readonly kind: 'unit'
  readonly unit: Unit
}

export type Value = Quantity | PureNumber | RangeValue | CountRange | TextValue | UnitValue

/** What can be wrong with a statement against the vocabulary. The checks word it. */
export type MatchProblem = Span &
  (
    | {
        readonly problem: 'unknown-word'
        readonly word: string
        readonly place: Place
        readonly candidates: readonly string[]
      }
    | { readonly problem: 'unit-missing'; readonly dimension: Dimension; readonly suggestion: string }
    | {
        readonly problem: 'unit-mismatch'
        /** Absent where a pure number stands. */
        readonly dimension: Dimension | undefined
        readonly found: Unit
        readonly suggestion: string | undefined
        /** Where the suggestion goes. */
        readonly unitStart: number
        readonly unitEnd: number
      }
    | { readonly problem: 'range-reversed'; readonly swapped: string }
    | { readonly problem: 'value-range'; readonly bounds: Bounds; readonly unit: string; readonly name: string }
    | { readonly problem: 'not-whole' }
    /** The word stands more often in its block than is read. */
    | { readonly problem: 'too-many'; readonly most: number }
    | {
        readonly problem: 'expected'
        readonly what: string
        /** Words that could stand here, for completion of what was begun. */
        readonly words?: readonly string[]
        /** The text that, put before the span, fixes it. */
        readonly insert?: string
      }
    | { readonly problem: 'unexpected' }
    /** What the line has already. */
    | { readonly problem: 'again' }
    | { readonly problem: 'block-missing' }
    | { readonly problem: 'block-unexpected' }
  )

/** Which items a slot took: `to` is exclusive. */
export interface SlotItems {
  readonly slot: Slot
  readonly from: number
  readonly to: number
}

/** A statement read against the vocabulary. */
export interface Match {
  readonly statement: Statement
  readonly place: Place
  /** The vocabulary's entry; undefined where the word is unknown at this place. */
  readonly word: Word | undefined
  readonly form: Form | undefined
  readonly values: ReadonlyMap<string, Value>
  readonly slots: readonly SlotItems[]
  readonly problems: readonly MatchProblem[]
  /** Whether the values can be relied on; a statement that is not sound costs itself alone. */
  readonly sound: boolean
  /** Statements of the block, in order; empty without one. */
  readonly children: readonly Match[]
}
