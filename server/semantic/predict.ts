/** What every load of a profile settles at in every corner. */

import { type Bench, type Corner, coresOf, type Settled, settle } from '../model/index.ts'
import { inCorners } from './corners.ts'
import type { LoadCase, ProfileInput } from './input.ts'

/** What every load of a profile settles at in every corner of its room. */
export interface Prediction {
  readonly load: LoadCase
  readonly corner: Corner
  readonly settled: Settled
  readonly assumed: readonly string[]
}

/** One prediction, or undefined where no step row covers the load's core count. */
export function predictOne(
  bench: Bench,
  load: LoadCase,
  corner: Corner,
  assumed: readonly string[],
): Prediction | undefined {
  const settled = settle(bench, load.load, corner)
  return settled === null ? undefined : { load, corner, settled, assumed }
}

/** All predictions of a profile, sorted by load, cores and corner. Empty where something is missing. */
export function predictAll(input: ProfileInput): readonly Prediction[] {
  const { bench } = input
  if (bench === undefined) return []
  const predictions: Prediction[] = []
  for (const load of input.loads) {
    const own = load.definition === undefined ? [] : (input.loadAssumed.get(load.name) ?? [])
    const assumed = own.length === 0 ? input.assumed : [...input.assumed, ...own].sort()
    const settled = inCorners(bench, input.corners, corner => settle(bench, load.load, corner))
    input.corners.forEach((corner, index) => {
      const one = settled[index]
      if (one !== undefined) predictions.push({ load, corner, settled: one, assumed })
    })
  }
  const cores = (prediction: Prediction): number => coresOf(prediction.load.load)
  const byName = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
  return predictions.sort(
    (a, b) =>
      byName(a.load.name, b.load.name) ||
      cores(a) - cores(b) ||
      a.corner.airC - b.corner.airC ||
      a.corner.humidityPct - b.corner.humidityPct,
  )
}
