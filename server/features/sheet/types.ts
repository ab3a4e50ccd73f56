/** The entry sheet as plain data: what a person types into the firmware, in the order of the firmware's own pages. */

/** One value to enter. */
export interface SheetEntry {
  /** The group of cores that it is for, whose name `row` begins with; absent where it is for all. */
  readonly group?: string
  /** The supply rail that it is for, where the part has several or the group is on one; absent where rails make no difference. */
  readonly rail?: string
  /** The setting's word in the language, or `also` for a setting in the person's own words. */
  readonly setting: string
  /** What the value is for, where one setting has several: `3 cores`, `broad 3 cores`, `57x`, `at 24 °C`; else empty. */
  readonly row: string
  /** As the profile has it or as it follows from it, before any rounding. */
  readonly asked: string
  /** What is typed. */
  readonly enter: string
  /** The same as numbers in `unit`; null where the value is no number. */
  readonly askedValue: number | null
  readonly enterValue: number | null
  readonly unit: string | null
  /** `rounded down 1.5 mV`; undefined where nothing was rounded. */
  readonly rounding: string | undefined
  readonly notes: readonly string[]
}

/** A value of the profile that is not entered, and why. */
export interface LeftOut {
  /** As it stands in the profile. */
  readonly text: string
  readonly why: string
}

/** An entry at its place on the sheet. */
export interface SheetLine extends SheetEntry {
  /** Counted from 1 through the whole sheet. */
  readonly number: number
  /** The field in the person's own words; undefined where the menu does not name it. */
  readonly field: string | undefined
  /** With another profile to start from: what stands there, undefined where it has no such value. */
  readonly before: string | undefined
}

/** The lines of one page of the firmware. */
export interface SheetPage {
  /** The page in the person's own words; undefined for what the board's menu does not cover. */
  readonly page: string | undefined
  readonly lines: readonly SheetLine[]
}

/** A value that the other profile enters and this one does not. */
export interface Gone {
  readonly setting: string
  readonly row: string
  readonly before: string
  /** It is a row of a table that this profile enters other rows of. */
  readonly replaced: boolean
  readonly page: string | undefined
  readonly field: string | undefined
}

export interface SheetFrom {
  /** The other profile, with its revision where it is an older one. */
  readonly label: string
  /** How many values are the same in both and are not listed. */
  readonly unchanged: number
  readonly gone: readonly Gone[]
}

/** A field of the menu that the profile says nothing about. */
interface UntouchedField {
  readonly setting: string
  readonly page: string
  readonly field: string
}

/** Something of the bench that the values rest on, in words and as a number in its unit. */
export interface SheetFact {
  readonly name: string
  readonly text: string
}

export interface Sheet {
  readonly profile: string
  readonly part: string | undefined
  readonly cooler: string | undefined
  readonly room: string | undefined
  readonly board: string | undefined
  /** Whether the board states a menu: without one there are no labels and no order but the language's. */
  readonly menu: 'stated' | 'none'
  readonly pages: readonly SheetPage[]
  readonly from: SheetFrom | undefined
  readonly leftOut: readonly LeftOut[]
  readonly untouched: readonly UntouchedField[]
  readonly facts: readonly SheetFact[]
  readonly cautions: readonly string[]
  /** What was found at error level: the sheet of such a profile is not to be entered. */
  readonly errors: readonly string[]
  /** What could not be worked out, and what is missing for it. */
  readonly incomplete: readonly string[]
}
