/** The lines of a course's panels: what is predicted of each figure, and what is measured of it. */

import type { Figure, FigureKind } from '../../bench/log/figures.ts'
import type { LogSeries } from '../../bench/log/series.ts'
import type { MarkPlace } from '../../charts/picture.ts'
import type { SeriesPoint } from '../../charts/thin.ts'
import { firstServing } from '../../model/first-serving.ts'
import type { At } from './course-levels.ts'

/** What is predicted over time. */
export interface Followed {
  readonly series: Readonly<Record<'timeS' | Column, readonly number[]>> & {
    /** The clock of each group of cores, in the part's order; nothing where all cores are alike. */
    readonly groups?: readonly { readonly group: string; readonly clockMhz: readonly (number | null)[] }[] | undefined
  }
  readonly events: readonly {
    readonly timeS: number
    readonly what: string
    /** What its line is called; what happens, without it. */
    readonly text?: string
    readonly place?: MarkPlace | undefined
  }[]
}

type Column = 'clockMhz' | 'powerW' | 'dieC' | 'plateC' | 'coolantC'

/** The lines of the panels: what is predicted, what is measured of it, and its unit. */
const columns: readonly {
  readonly panel: string
  readonly name: string
  readonly unit: string
  readonly column: Column
  readonly figure: FigureKind
  readonly factor: number
}[] = [
  { panel: 'clock, GHz', name: 'clock', unit: 'GHz', column: 'clockMhz', figure: 'clock', factor: 1e-3 },
  { panel: 'power, W', name: 'power', unit: 'W', column: 'powerW', figure: 'power', factor: 1 },
  { panel: 'temperature, °C', name: 'die', unit: '°C', column: 'dieC', figure: 'die', factor: 1 },
  { panel: 'temperature, °C', name: 'plate', unit: '°C', column: 'plateC', figure: 'plate', factor: 1 },
  { panel: 'temperature, °C', name: 'coolant', unit: '°C', column: 'coolantC', figure: 'coolant', factor: 1 },
]

/** A line of a panel before its points are known. */
interface Source {
  readonly panel: string
  /** At its end in the picture. */
  readonly name: string
  /** In the table, where it stands without its panel. */
  readonly whole: string
  readonly unit: string
  readonly factor: number
  readonly values: readonly (number | null)[] | undefined
  readonly figure: Figure
}

/** The lines of a run: of a part with groups one clock for each group that is ever at work. */
export function sourcesOf(
  series: Followed['series'] | undefined,
  log: LogSeries | undefined,
  { busy }: At,
): readonly Source[] {
  return columns.flatMap(({ column, ...one }): Source[] => {
    const names = one.figure === 'clock' ? busy.flatMap(({ group }) => group ?? []) : []
    if (names.length === 0) return [{ ...one, whole: one.name, values: series?.[column] }]
    return names.map((name, index): Source => {
      const own = `clock ${name}` as const
      // Without a name it is that of the first group that has active cores.
      const isNamed = index > 0 || log?.figures[own] !== undefined
      const values = series?.groups?.find(({ group }) => group === name)?.clockMhz
      return { ...one, name, whole: own, values, figure: isNamed ? own : 'clock' }
    })
  })
}

export function predictedPoints(
  timeS: readonly number[],
  values: readonly (number | null)[] | undefined,
  factor: number,
): readonly SeriesPoint[] {
  if (values === undefined) return []
  const points = timeS.map((at, index) => {
    const value = values[index] ?? Number.NaN
    return { at, value: Number.isFinite(value) ? value * factor : Number.NaN }
  })
  return points.some(({ value }) => !Number.isNaN(value)) ? points : []
}

export function measuredPoints(log: LogSeries | undefined, figure: Figure, startS: number): readonly SeriesPoint[] {
  const values = log?.figures[figure]
  if (log === undefined || values === undefined) return []
  // What comes before the load is no part of its course.
  return [...values].flatMap((value, index) => {
    const at = (log.timeS[index] ?? 0) - startS
    return Number.isNaN(value) || at < 0 ? [] : [{ at, value }]
  })
}

/** The value of a line at a time, straight between two points. */
export function valueAt(points: readonly SeriesPoint[], at: number): number | undefined {
  const last = points.length - 1
  if (last < 1 || at < (points[0] as SeriesPoint).at || at > (points[last] as SeriesPoint).at) return undefined
  const next = firstServing(0, last, index => (points[index] as SeriesPoint).at > at)
  const [a, b] = [points[next - 1] as SeriesPoint, points[next] as SeriesPoint]
  return a.value + ((b.value - a.value) * (at - a.at)) / (b.at - a.at || 1)
}

export const numberOrNull = (value: number | undefined): number | null =>
  value === undefined || Number.isNaN(value) ? null : value

export function measuredRows(log: LogSeries, startS: number, figures: readonly Figure[]): (string | number | null)[][] {
  return [...log.timeS].map((at, index) => [
    at - startS,
    ...figures.map(figure => numberOrNull(log.figures[figure]?.[index])),
    'measured',
  ])
}
