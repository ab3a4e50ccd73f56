/** How the numbers of a sheet are written and rounded: as they are typed, never in more digits than they have. */

import { plain } from '../../wording/figures.ts'
import type { SheetEntry } from './types.ts'

/** A voltage with three decimals, or with as many as it has. */
export function volts(voltageV: number): string {
  const microvolts = Math.round(voltageV * 1e6)
  return microvolts % 1000 === 0 ? `${(microvolts / 1e6).toFixed(3)} V` : `${plain(microvolts / 1e6)} V`
}

/** A number with its unit as it is typed; a ratio has no space before its unit. */
export function withUnit(value: number, unit: string): string {
  if (unit === 'V') return volts(value)
  return unit === 'x' ? `${plain(value)}x` : `${plain(value)} ${unit}`
}

/** `rounded down 1.5 mV`: how far the entered value is from the one asked for; undefined where they are the same. */
function roundingText(asked: number, enter: number, unit: string): string | undefined {
  const isVolts = unit === 'V'
  const by = Math.abs(enter - asked) * (isVolts ? 1000 : 1)
  // A thousandth of a millivolt, and binary noise of anything else, is no rounding.
  if (by < (isVolts ? 1e-3 : 1e-9)) return undefined
  const amount = plain(Number(by.toFixed(isVolts ? 3 : 4)))
  const shown = isVolts ? `${amount} mV` : withUnit(Number(amount), unit)
  return `rounded ${enter < asked ? 'down' : 'up'} ${shown}`
}

/** What an entry of a number is made of. */
export interface NumberEntry {
  readonly setting: string
  readonly row?: string
  readonly asked: number
  /** After rounding; the same as `asked` where it is left out. */
  readonly enter?: number
  readonly unit: string
  readonly notes?: readonly string[]
}

export function numberEntry({ setting, row = '', asked, enter = asked, unit, notes = [] }: NumberEntry): SheetEntry {
  const rounding = roundingText(asked, enter, unit)
  return {
    setting,
    row,
    asked: withUnit(asked, unit),
    enter: withUnit(enter, unit),
    askedValue: asked,
    enterValue: enter,
    unit,
    rounding,
    notes,
  }
}

/** An entry that is words and not a number. */
export function wordEntry(setting: string, row: string, words: string, notes: readonly string[] = []): SheetEntry {
  return {
    setting,
    row,
    asked: words,
    enter: words,
    askedValue: null,
    enterValue: null,
    unit: null,
    rounding: undefined,
    notes,
  }
}

/** A hundred-thousandth of a step is well below what anyone writes; decimals are not exact in binary. */
const onGrid = 1e-5

/** A ratio on the part's grid: the nearest multiple of its step, of two equally near ones the slower. */
export function ratioOnGrid(ratio: number, step: number): number {
  const count = ratio / step
  const whole = Math.abs(count - Math.round(count)) <= onGrid ? Math.round(count) : Math.ceil(count - 0.5 - onGrid)
  return exactly(whole * step)
}

/** Ratio given back, on the part's grid: of two equally near multiples the deeper, and never nothing for something. */
export function dropOnGrid(drop: number, step: number): number {
  if (drop === 0) return 0
  return exactly(Math.max(1, Math.floor(drop / step + 0.5 + onGrid)) * step)
}

/** Multiples of a decimal step without the digits that only binary arithmetic put there. */
function exactly(value: number): number {
  return Number(value.toPrecision(12))
}
