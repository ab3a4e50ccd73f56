/** Loads that go up and down evenly: over whole periods their mean stands still, and that is what is predicted. */

import type { FigureKind } from '../log/figures.ts'
import type { LogSeries } from '../log/series.ts'
import { periodOf } from '../statistics/period.ts'
import type { Stretch } from './settling.ts'

/** Means over whole periods of a stretch without gaps; undefined where its power, or die, does not swing evenly. */
export function wholePeriods(series: LogSeries, { from, to }: Stretch): LogSeries | undefined {
  const guide = (series.figures.power ?? series.figures.die)?.subarray(from, to)
  if (guide?.every(value => !Number.isNaN(value)) !== true) return undefined
  const period = periodOf(guide)
  if (period === undefined) return undefined
  const count = Math.floor((to - from) / period)
  // From the end, where the warm-up is furthest.
  const edge = (at: number): number => to - Math.round((count - at) * period)
  const means = (values: Float64Array): Float64Array =>
    Float64Array.from({ length: count }, (_, at) => {
      const own = values.subarray(edge(at), edge(at + 1)).filter(value => !Number.isNaN(value))
      return own.reduce((sum, value) => sum + value, 0) / own.length
    })
  const figures: Partial<Record<FigureKind, Float64Array>> = {}
  for (const [kind, values] of Object.entries(series.figures)) figures[kind as FigureKind] = means(values)
  return {
    timeS: means(series.timeS),
    fromS: Float64Array.from({ length: count }, (_, at) => series.fromS[edge(at)] as number),
    toS: Float64Array.from({ length: count }, (_, at) => series.toS[edge(at + 1) - 1] as number),
    figures,
    rowsPerPoint: series.rowsPerPoint,
  }
}
