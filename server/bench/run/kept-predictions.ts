/** What is predicted for runs, kept by bench, load and air, so that typing in a run predicts nothing again that it does not change. */

import { onceFor } from '../../../grammar/once.ts'
import type { Bench, Corner } from '../../model/index.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
import { type Prediction, predictOne } from '../../semantic/predict.ts'

/** So many of one bench are kept: runs in as many airs, at as many duties of the fan. Beyond that the oldest is evicted. */
const KEPT = 32

function keepLatest<T>(kept: T[], made: T): void {
  kept.push(made)
  if (kept.length > KEPT) kept.shift()
}

const atDuties = onceFor((_bench: Bench): Bench[] => [])

/** A bench whose fan runs at one duty, the very same each time. */
export function benchAt(bench: Bench, dutyPct: number): Bench {
  const made = atDuties(bench)
  const before = made.find(({ profile: { fan } }) => fan[0]?.dutyPct === dutyPct)
  if (before !== undefined) return before
  const driven = { ...bench, profile: { ...bench.profile, fan: [{ coolantC: 0, dutyPct }] } }
  keepLatest(made, driven)
  return driven
}

const predictions = onceFor((_bench: Bench) => onceFor((_load: LoadCase): Prediction[] => []))

/**
 * What one load settles at in the air of a run: the very same while neither bench nor load nor air changes, whatever else is
 * typed in the run, so that what is made of it is kept as well.
 */
export function predictedAt(
  bench: Bench,
  load: LoadCase,
  corner: Corner,
  assumed: readonly string[],
): Prediction | undefined {
  const made = predictions(bench)(load)
  const before = made.find(
    one =>
      one.corner.airC === corner.airC &&
      one.corner.humidityPct === corner.humidityPct &&
      one.assumed.join('\n') === assumed.join('\n'),
  )
  if (before !== undefined) return before
  const fresh = predictOne(bench, load, corner, assumed)
  if (fresh !== undefined) keepLatest(made, fresh)
  return fresh
}
