/** Which predictions a person is shown, in which order, and whose each row is. */

import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { figuresOf, type PredictionFigures, wording } from '../../service.ts'

/** A prediction, and the core counts and humidities that it stands for. */
export interface ShownRow {
  readonly row: PredictionFigures
  readonly fromCores: number
  readonly toHumidityPct: number
}

/** The more severe first. */
const states: readonly string[] = ['runaway', 'over-limit', 'throttled']

const severity = ({ state }: PredictionFigures): number => {
  const index = states.indexOf(state)
  return index < 0 ? states.length : index
}

/** How much worse one corner is than another: by state, then clock, then margin, then die temperature. */
export function worseFirst(a: PredictionFigures, b: PredictionFigures): number {
  const less = (first: number | null, second: number | null): number =>
    (first ?? Number.NEGATIVE_INFINITY) - (second ?? Number.NEGATIVE_INFINITY)
  return (
    severity(a) - severity(b) ||
    (a.clock_mhz === b.clock_mhz ? 0 : less(a.clock_mhz, b.clock_mhz)) ||
    (a.margin_w === b.margin_w ? 0 : less(a.margin_w, b.margin_w)) ||
    (a.die_c === b.die_c ? 0 : less(b.die_c, a.die_c))
  )
}

/** How near the plate is to its dew or frost point, the nearest first. */
export function wetterFirst(a: PredictionFigures, b: PredictionFigures): number {
  const above = ({ plate_c, wet_c }: PredictionFigures): number =>
    plate_c === null ? Number.POSITIVE_INFINITY : plate_c - wet_c
  const [first, second] = [above(a), above(b)]
  return first === second ? 0 : first - second
}

/** In the order of the file: loads as they are declared, then idle and off; core counts and corners upwards. */
export function inFileOrder({ input }: Evaluation, rows: readonly PredictionFigures[]): readonly PredictionFigures[] {
  const names = [...new Set(input.loads.map(({ name }) => name))]
  const place = new Map(names.map((name, index) => [name, index]))
  return rows.toSorted((a, b) => (place.get(a.load) ?? 0) - (place.get(b.load) ?? 0))
}

/** The worst corner of each load at each core count. */
export function worstCorners(
  rows: readonly PredictionFigures[],
  order: (a: PredictionFigures, b: PredictionFigures) => number = worseFirst,
): readonly PredictionFigures[] {
  const byCase = new Map<string, PredictionFigures>()
  for (const row of rows) {
    const key = `${row.load} ${row.cores}`
    const before = byCase.get(key)
    if (before === undefined || order(row, before) < 0) byCase.set(key, row)
  }
  return [...byCase.values()]
}

/** Neighbouring core counts that run at one clock, held by the same: one row, the worst of them. */
export function mergedCounts(
  rows: readonly PredictionFigures[],
  order: (a: PredictionFigures, b: PredictionFigures) => number = worseFirst,
): readonly ShownRow[] {
  const merged: { row: PredictionFigures; fromCores: number; lastCores: number }[] = []
  const held = (row: PredictionFigures): string =>
    `${row.load} ${wording.column(row.clock_mhz, 0)} ${row.limiter} ${row.state}`
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

/** The worst prediction of each load, over its corners and core counts; loads in the order of the file. */
export function worstOfLoads(evaluation: Evaluation): readonly Prediction[] {
  const worst = new Map<string, Prediction>()
  for (const one of worstPredictions(evaluation)) {
    const before = worst.get(one.load.name)
    const isWorse = before === undefined || worseFirst(figuresOf(evaluation, one), figuresOf(evaluation, before)) < 0
    if (isWorse) worst.set(one.load.name, one)
  }
  return [...worst.values()]
}

/** The predictions of the worst corners, loads in the order of the file, for what takes long to work out. */
export function worstPredictions(evaluation: Evaluation): readonly Prediction[] {
  const byFigures = new Map(evaluation.predictions.map(one => [figuresOf(evaluation, one), one]))
  return worstCorners(inFileOrder(evaluation, [...byFigures.keys()])).flatMap(row => byFigures.get(row) ?? [])
}
