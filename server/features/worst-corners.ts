/** The worst of a room's corners for each load: by state, then clock, then margin, then die temperature. */

import type { Evaluation } from '../semantic/evaluate.ts'
import type { Prediction } from '../semantic/predict.ts'
import { figuresOf, type PredictionFigures } from './prediction-figures.ts'

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
