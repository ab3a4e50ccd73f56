/** What every load of a profile settles at in every corner. */

import { keptWhile, onceFor } from '../../grammar/once.ts'
import {
  type Bench,
  type Corner,
  coresOf,
  finished,
  type GroupLoad,
  isWork,
  type Settled,
  settle,
} from '../model/index.ts'
import { inCorners } from './corners.ts'
import type { ProfileInput } from './input.ts'
import { type KeptPoints, keptPoints } from './kept-points.ts'
import type { LoadCase } from './load-cases.ts'

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

const groupsIn = ({ load: { load } }: Prediction): readonly GroupLoad[] => (isWork(load) ? (load.groups ?? []) : [])

/** Evicted with the bench or the load's case; an edit of one load leaves what was predicted of the others. */
const predictedOn = onceFor((_bench: Bench) => keptWhile<LoadCase, readonly Prediction[]>())

/** What one load settles at in every corner. */
function predictLoad(input: ProfileInput, bench: Bench, load: LoadCase, kept: KeptPoints): readonly Prediction[] {
  const own = load.definition === undefined ? [] : (input.loadAssumed.get(load.name) ?? [])
  const assumed = own.length === 0 ? input.assumed : [...input.assumed, ...own].sort()
  const { load: asked } = load
  const settled = inCorners(bench, input.corners, corner =>
    isWork(asked) ? kept.of('all', asked, corner, () => settle(bench, asked, corner)) : settle(bench, asked, corner),
  )
  return input.corners.flatMap((corner, index) => {
    const one = settled[index]
    return one === undefined ? [] : { load, corner, settled: one, assumed }
  })
}

/** All predictions on a bench; evicted with it. */
const allOn = keptWhile<Bench, readonly Prediction[]>()

/** All predictions of a profile, sorted by load, cores, those of each group and corner. Empty where something is missing. */
export function predictAll(input: ProfileInput): readonly Prediction[] {
  return finished(predictInSlices(input))
}

/** The same, one load at one core count at a time; what is not followed to its end is kept all the same. */
export function* predictInSlices(input: ProfileInput): Generator<undefined, readonly Prediction[]> {
  const { bench, corners, assumed, loads } = input
  if (bench === undefined) return []
  const rests = [corners, assumed, ...loads]
  const before = allOn.of(bench, rests)
  if (before !== undefined) return before
  const predictions: Prediction[] = []
  const kept = predictedOn(bench)
  const points = keptPoints(bench)
  for (const load of loads) {
    const known = kept.of(load, [corners, assumed])
    predictions.push(...(known ?? kept.keep(load, [corners, assumed], predictLoad(input, bench, load, points))))
    if (known === undefined) yield
  }
  points.done()
  return allOn.keep(bench, rests, sorted(predictions))
}

function sorted(predictions: Prediction[]): readonly Prediction[] {
  const cores = (prediction: Prediction): number => coresOf(prediction.load.load)
  const byGroups = (a: Prediction, b: Prediction): number => {
    for (const [index, { cores: own }] of groupsIn(a).entries()) {
      const difference = own - (groupsIn(b)[index]?.cores ?? 0)
      if (difference !== 0) return difference
    }
    return 0
  }
  const byName = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
  return predictions.sort(
    (a, b) =>
      byName(a.load.name, b.load.name) ||
      cores(a) - cores(b) ||
      byGroups(a, b) ||
      a.corner.airC - b.corner.airC ||
      a.corner.humidityPct - b.corner.humidityPct,
  )
}
