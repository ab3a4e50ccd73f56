/** What a row of the table of words is made of. */

import type { Dimension } from '../units/units.ts'

/** The blocks of the language, in the order in which a person meets them; `file` is the top level. */
export const places = [
  'file',
  'part',
  'group',
  'known',
  'needs',
  'cooler',
  'radiator',
  'module',
  'room',
  'board',
  'menu',
  'load',
  'profile',
  'steps',
  'bands',
  'voltage',
  'limits',
  'fan',
  'also',
  'run',
  'log',
  'measured',
  'fitted',
  'course',
] as const

/** A block of the language; a word may stand in some of them. */
export type Place = (typeof places)[number]

/** The words that open a definition with a name. */
export const definitionWords = [
  'part',
  'cooler',
  'room',
  'board',
  'load',
  'profile',
  'run',
  'fitted',
  'course',
] as const
export type DefinitionKind = (typeof definitionWords)[number]

export type CoolerKind = 'air' | 'loop' | 'chilled' | 'thermoelectric'

/** What a value may be, in the slot's base unit; a bound that is excluded is written as `above` or `below`. */
export interface Bounds {
  readonly min?: number
  readonly max?: number
  readonly above?: number
  readonly below?: number
}

interface Named {
  /** What the value is called in the reading and in messages. */
  readonly name: string
  /** In a table of many lines, the cell that ends with this slot is padded to this width. */
  readonly width?: number
}

/** One place in a statement's form, matched against one or a few items. */
export type Slot =
  /** A literal word. */
  | { readonly slot: 'literal'; readonly word: string }
  /** One of several literal words. */
  | (Named & { readonly slot: 'choice'; readonly words: readonly string[] })
  /** A number with its unit; with `uncertain`, `± …` may follow. */
  | (Named & {
      readonly slot: 'quantity'
      readonly dimension: Dimension
      readonly bounds?: Bounds
      readonly uncertain?: true
    })
  /** `A to B`; with `single`, one quantity alone may stand for both. */
  | (Named & {
      readonly slot: 'range'
      readonly dimension: Dimension
      readonly bounds?: Bounds
      readonly single?: true
    })
  /** A pure number; with `whole`, digits only; with `signed`, a minus sign may stand before it. */
  | (Named & {
      readonly slot: 'number'
      readonly whole?: true
      readonly signed?: true
      readonly bounds?: Bounds
      readonly uncertain?: true
    })
  /** A unit alone, for what a column of a log is written in. */
  | (Named & { readonly slot: 'unit'; readonly dimension: Dimension })
  /** A date, and a time of day behind it where one is given. */
  | (Named & { readonly slot: 'date' })
  /** `8` or `1 to 8`, pure whole numbers. */
  | (Named & {
      readonly slot: 'count-range'
      readonly bounds?: Bounds
      /** What counts in place of `bounds` behind the name of a group. */
      readonly named?: Bounds
    })
  /** `3 cores` or `1 to 2 cores`. */
  | (Named & { readonly slot: 'cores'; readonly bounds: Bounds })
  /** A sign and a quantity; `signs` tells which signs may stand. `spaced` signs have a space behind them. */
  | (Named & {
      readonly slot: 'signed'
      readonly dimension: Dimension
      readonly signs: '+' | '-' | '+-'
      readonly layout: 'spaced' | 'attached'
      readonly bounds?: Bounds
    })
  /** The name of a definition of this kind. */
  | (Named & { readonly slot: 'reference'; readonly kind: DefinitionKind })
  /** The name that this statement defines. */
  | (Named & { readonly slot: 'defines'; readonly kind: DefinitionKind })
  /**
   * The name of a group of cores or of a supply rail of the part. With `after` it stands behind a key word, for that group
   * or rail alone, and may be left out: it is there where one word more stands than without it.
   */
  | (Named & { readonly slot: 'part-name'; readonly of: 'group' | 'rail' | 'either'; readonly after?: true })
  | (Named & { readonly slot: 'string' })
  | (Named & { readonly slot: 'compare' })
  /** The code of a check. */
  | (Named & { readonly slot: 'code' })
  /** A word of the vocabulary that a board's menu can label. */
  | (Named & { readonly slot: 'setting' })
  /** Slots that may be left out together. */
  | { readonly slot: 'optional'; readonly slots: readonly Slot[] }
  /** Some of these forms, each at most once, in any order: told apart by their first word, or by their dimension. */
  | { readonly slot: 'any-order'; readonly forms: readonly Form[] }

export type Form = readonly Slot[]

/** What counts where a word is left out. */
export interface Default {
  readonly text: string
  readonly value?: number
  /** Of a usual value: one geometric standard deviation, a factor. Others are certain. */
  readonly spread?: number
}

/** Where a value usually lies, in the slot's base unit. */
export interface Usual {
  readonly low: number
  readonly high: number
  /** As a person reads it: `0.05 nF to 50 nF`. */
  readonly text: string
  readonly source: string
}

/** One word of the language at one place, or one row of a table (`word` empty). */
export interface Word {
  /** The key word; empty for the rows of a table. */
  readonly word: string
  /** The blocks in which it may stand. */
  readonly in: readonly Place[]
  /** Alternatives; the first that fits counts. The key word itself is not repeated in them. */
  readonly forms: readonly Form[]
  /** The place that its block opens. A word without one takes no block. */
  readonly block?: Place
  /** Missing it is a finding; with `kinds`, only for those coolers. */
  readonly required?: true
  /** It may be given several times in one block (`set`, `expect`, `allow`). */
  readonly many?: true
  /** For keys of a cooler: the kinds that use it; absent means all. */
  readonly kinds?: readonly CoolerKind[]
  /** Where its values usually lie, by the slot's name; a value outside is doubted. Added from `usual.ts`. */
  readonly usual?: Readonly<Record<string, Usual>>
  /** Shown in hover and in `assumed`, in the language's own spelling; the number in base units where it is one. Kinds of
   * cooler that differ from the rest have their own. */
  readonly default?: Default & { readonly kinds?: Readonly<Partial<Record<CoolerKind, Default>>> }
  /** One line: what it means. */
  readonly means: string
  /** Where the formula behind it comes from, or that it is engineering judgement. */
  readonly source?: string
  /** Carried to reports and sheets; it changes neither a prediction nor a finding. */
  readonly carried?: true
  /** It decides what is found or expected of a prediction, and changes none. */
  readonly judges?: true
  /** An example line for the reference, completion and tests. */
  readonly example: string
  /** A caution where the value can hurt a person or a part. */
  readonly caution?: string
}
