/** What a load settles at, in one cell. */

import type { Settled } from '../model/types.ts'
import { clockText, noFigure, temperatureText } from './figures.ts'
import { limiterText } from './limiters.ts'

/**
 * `5.41 GHz, 61.3 °C (band)`: clock, die temperature and what holds the clock; for idle the temperature alone.
 * The bracket ends the cell: editors set the columns of a table close together.
 */
export function settledCell(settled: Settled | undefined): string {
  if (settled === undefined) return noFigure
  if (settled.state === 'runaway') return 'no steady temperature'
  const figures = settled.clockMhz === null ? [] : [clockText(settled.clockMhz)]
  const why = limiterText(settled)
  return `${[...figures, temperatureText(settled.dieC)].join(', ')}${why === '' ? '' : ` (${why})`}`
}
