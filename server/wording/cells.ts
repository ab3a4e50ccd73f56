/** What a load settles at, in one cell. */

import type { Settled } from '../model/types.ts'
import { clockText, noFigure, temperatureText } from './figures.ts'
import { limiterText } from './limiters.ts'

/** Of each group of cores that is at work, in the part's order: `5.00 GHz / 3.60 GHz`. */
export function clocksText({ clockMhz, groups = [] }: Pick<Settled, 'clockMhz' | 'groups'>): string {
  const own = groups.filter(group => group.cores > 0)
  return groupsCell<Pick<Settled, 'clockMhz'>>({ clockMhz }, own, one => clockText(one.clockMhz))
}

/**
 * `5.41 GHz, 61.3 °C (band)`: clock, die temperature and what holds the clock; for idle the temperature alone.
 * The bracket ends the cell: editors set the columns of a table close together.
 */
export function settledCell(settled: Settled | undefined): string {
  if (settled === undefined) return noFigure
  if (settled.state === 'runaway') return 'no steady temperature'
  const figures = settled.clockMhz === null ? [] : [clocksText(settled)]
  const why = limiterText(settled)
  return `${[...figures, temperatureText(settled.dieC)].join(', ')}${why === '' ? '' : ` (${why})`}`
}

/**
 * A figure of each group of cores that is at work, in the part's order: `6 / 8`; of a part whose cores are all alike the one
 * figure. What the table says of it is `groupsNote`.
 */
export function groupsCell<T>(row: T, groups: readonly T[] | undefined, cell: (own: T) => string | undefined): string {
  const each = groups === undefined || groups.length === 0 ? [row] : groups
  return each.flatMap(own => cell(own) ?? []).join(' / ')
}

export const groupsNote = '`/` separates the groups of cores at work, in the part’s order.'
