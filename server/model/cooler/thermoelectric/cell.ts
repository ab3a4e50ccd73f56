/** A cell of a curve that is known through a parameter t: a run of t on which heat and plate both rise. */

import type { Series } from './series.ts'

/** Heat and plate over the air at one t, with their slopes over t. */
export interface Traced {
  heatW: number
  heatSlope: number
  coldK: number
  coldSlope: number
}

/** One end of a cell. */
export interface CellEnd {
  readonly t: number
  readonly heatW: number
  readonly heatSlope: number
  readonly coldK: number
  readonly coldSlope: number
}

export interface Cell<S> {
  /** Plate over heat as a series: laid down when it is first asked for, null where none holds. */
  series?: Series | null
  /** The cell in two, where no series holds on the whole: laid down when it is first asked for. */
  halves?: readonly [Cell<S>, Cell<S>] | null
  /** What the tracer needs to know of the cell. */
  readonly of: S
  readonly start: CellEnd
  readonly end: CellEnd
  /** Slope of plate over heat halfway lies between those at the ends, as a slope that only rises or only falls does. */
  readonly isOrderly: boolean
}

export const endOf = ({ heatW, heatSlope, coldK, coldSlope }: Traced, t: number): CellEnd => ({
  t,
  heatW,
  heatSlope,
  coldK,
  coldSlope,
})

/** Plate over heat; Infinity where the heat no longer rises. */
export const steepness = ({ heatSlope, coldSlope }: Traced | CellEnd): number =>
  heatSlope > 0 ? coldSlope / heatSlope : Number.POSITIVE_INFINITY

/** A cell whose end is a crest: t over heat is a root's curve there. */
const CREST_PART = 0.1

/** Where a·plate + b·heat comes to `wanted` in a cell, guessed from its ends: t as a cubic of that sum. */
export function guess({ start, end }: Cell<unknown>, a: number, b: number, wanted: number): number {
  const from = a * start.coldK + b * start.heatW
  const rise = a * end.coldK + b * end.heatW - from
  const width = end.t - start.t
  const share = (wanted - from) / rise
  const fromSlope = ((a * start.coldSlope + b * start.heatSlope) * width) / rise
  const endSlope = ((a * end.coldSlope + b * end.heatSlope) * width) / rise
  if (endSlope < CREST_PART) return end.t - width * Math.sqrt(Math.max(0, 1 - share))
  if (fromSlope < CREST_PART) return start.t + width * share
  const first = 1 / fromSlope
  const last = 1 / endSlope
  const cubic = share * (first + share * (3 - 2 * first - last + share * (first + last - 2)))
  return cubic > 0 && cubic < 1 ? start.t + width * cubic : start.t + width * share
}

/** Whether the slope halfway lies between those at the ends. */
export function isOrderly(start: CellEnd, middle: Traced, end: CellEnd): boolean {
  const [from, at, to] = [steepness(start), steepness(middle), steepness(end)]
  return (from - at) * (at - to) >= 0
}
