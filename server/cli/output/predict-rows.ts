/** Which predictions a person is shown, in which order, and whose each row is. */

import { type PredictionFigures, wording, worseFirst } from '../../service.ts'

/** A prediction, and the core counts and humidities that it stands for. */
export interface ShownRow {
  readonly row: PredictionFigures
  readonly fromCores: number
  readonly toHumidityPct: number
}

/** How near the plate is to its dew or frost point, the nearest first. */
export function wetterFirst(a: PredictionFigures, b: PredictionFigures): number {
  const above = ({ plate_c, wet_c }: PredictionFigures): number =>
    plate_c === null ? Number.POSITIVE_INFINITY : plate_c - wet_c
  const [first, second] = [above(a), above(b)]
  return first === second ? 0 : first - second
}

/** The clock of each group of cores at work; of a part whose cores are all alike the one clock. */
function clocks({ clock_mhz, groups }: PredictionFigures): string {
  return (groups ?? [{ group: '', clock_mhz }]).map(own => `${own.group} ${wording.column(own.clock_mhz, 0)}`).join(' ')
}

/** Neighbouring core counts that run at one clock, held by the same: one row, the worst of them. */
export function mergedCounts(
  rows: readonly PredictionFigures[],
  order: (a: PredictionFigures, b: PredictionFigures) => number = worseFirst,
): readonly ShownRow[] {
  const merged: { row: PredictionFigures; fromCores: number; lastCores: number }[] = []
  const held = (row: PredictionFigures): string => `${row.load} ${clocks(row)} ${row.limiter} ${row.state}`
  for (const row of rows) {
    const last = merged.at(-1)
    if (last !== undefined && row.cores > 0 && last.lastCores === row.cores - 1 && held(last.row) === held(row)) {
      last.lastCores = row.cores
      if (order(row, last.row) < 0) last.row = row
    } else merged.push({ row, fromCores: row.cores, lastCores: row.cores })
  }
  return merged.map(({ row, fromCores, lastCores }) => ({
    row: { ...row, cores: lastCores },
    fromCores,
    toHumidityPct: row.humidity_pct,
  }))
}

/** Rows that differ in nothing that is shown but the humidity are one. */
export function mergedHumidities(
  rows: readonly PredictionFigures[],
  shown: (row: PredictionFigures) => string,
): readonly ShownRow[] {
  const merged: { row: PredictionFigures; toHumidityPct: number; key: string }[] = []
  for (const row of rows) {
    const key = `${row.load} ${row.cores} ${row.air_c} ${shown(row)}`
    const last = merged.at(-1)
    if (last?.key === key) last.toHumidityPct = row.humidity_pct
    else merged.push({ row, toHumidityPct: row.humidity_pct, key })
  }
  return merged.map(({ row, toHumidityPct }) => ({ row, fromCores: row.cores, toHumidityPct }))
}

/** `1 to 3`; a dash for loads that keep no core busy. */
export function coresCell({ row, fromCores }: ShownRow): string {
  if (row.cores === 0) return wording.noFigure
  return fromCores === row.cores ? String(row.cores) : `${fromCores} to ${row.cores}`
}

/** `26 °C 45 %`, `18 °C 55 to 70 %` */
export function cornerCell({ row, toHumidityPct }: ShownRow): string {
  const humidity = wording.plain(row.humidity_pct)
  const to = toHumidityPct === row.humidity_pct ? humidity : `${humidity} to ${wording.plain(toHumidityPct)}`
  return `${wording.plain(row.air_c)} °C ${to} %`
}

type GroupFigures = NonNullable<PredictionFigures['groups']>[number]

/** `6 at 4800`: how many cores of a group run at which clock; a dash where it has none. */
export function groupClockText({ cores, clock_mhz }: GroupFigures): string {
  return clock_mhz === null ? wording.noFigure : `${cores} at ${wording.column(clock_mhz, 0)}`
}
