/** What is asked of a bench, what may change on it, and what such a change comes to: plain data. */

import type { FixEdit, Place } from '../../checks/types.ts'
import type { Bench, Corner } from '../../model/index.ts'
import type { FileEdits } from '../actions.ts'

/** Work that is left for a while at each `yield`. */
export type InSlices<T> = Generator<undefined, T>

/** What can be changed, in the order of the answers where all else is equal. */
export const reachKinds = [
  'step',
  'band-drop',
  'band-threshold',
  'return',
  'voltage-offset',
  'set',
  'fixed-voltage',
  'sustained-power',
  'burst-power',
  'current',
  'die',
  'fan',
  'dew-margin',
  'held-temperature',
  'drive-current',
  'drive-voltage',
  'room-air',
  'radiator',
  'block-resistance',
  'load-cores',
  'cooler',
] as const

export type ReachKind = (typeof reachKinds)[number]

/** A value as it stands or would stand, in `unit`; a name where that is what changes. */
export type ReachValue = number | string

/** The numbers that one prediction is made from, as far as changes touch them. */
export interface Numbers {
  readonly bench: Bench
  readonly corners: readonly Corner[]
}

/** One change of one value. */
export interface Move {
  readonly to: ReachValue
  /** How much it is, over what counts as one; positive. */
  readonly asks: number
  /** Whether the value rises or falls; a name rises. */
  readonly side: 1 | -1
  /** The edits that make it, in the text that its lever was read from. */
  readonly edits: readonly FixEdit[]
  /** What it does to the numbers; absent where the text alone says. */
  readonly numbers?: (numbers: Numbers) => Numbers
}

/** A value that can be changed. */
export interface FoundLever {
  readonly kind: ReachKind
  /** What is changed, in the language's words: `steps 9 to 12 cores`. */
  readonly name: string
  /** Where the change is made in a setting, or where the value of the bench stands. */
  readonly place: Place
  readonly from: ReachValue
  readonly unit: string | null
  /** It changes the bench, not a setting of the profile. */
  readonly isBench: boolean
  /** Outward from no change, both ways. */
  readonly moves: readonly Move[]
}

export interface Lever extends FoundLever {
  /** By which it is found again in the text that another change has made. */
  readonly id: string
}

/** One change as an answer names it. */
export interface ReachChange extends Pick<Lever, 'kind' | 'name' | 'from' | 'unit' | 'isBench'> {
  readonly to: ReachValue
  readonly asks: number
  /** Where the place is, in offsets of the file's text. */
  readonly uri: string
  readonly offset: number
}

/** The clock that another load loses at the core count and corner where it loses most, in MHz. */
export interface LostClock {
  readonly load: string
  readonly clockMhz: number
}

/** What changes together, and what comes of it. Each is verified by a full check of the text that it makes. */
export interface ReachAnswer {
  readonly changes: readonly ReachChange[]
  /** The sum over its changes. */
  readonly asks: number
  /** The figure that decides then, in the expectation's unit. */
  readonly predicted: number | null
  /** Loads that lose clock, sorted by name. */
  readonly costs: readonly LostClock[]
  readonly edits: readonly FileEdits[]
}

/** How far pairs were looked for. */
export interface Looked {
  /** Every pair up to this sum was tried. */
  readonly asks: number
  /** The time was up before the pairs of the next sum were. */
  readonly isCut: boolean
}

export interface Reach {
  readonly profile: string
  /** As behind `expect`. */
  readonly expectation: string
  readonly now: { readonly predicted: number | null; readonly unit: string; readonly holds: boolean | null }
  /** Settings first, then by what they ask, then by the clock that other loads lose. */
  readonly answers: readonly ReachAnswer[]
  /** The pairs of settings that ask least, where nothing alone is an answer. */
  readonly pairs: readonly ReachAnswer[]
  /** Absent where no pair was looked for. */
  readonly looked?: Looked
}
