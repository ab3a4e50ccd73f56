/**
 * How probable it is that expectations hold, where constants carry `±`. Nothing that is found in a file rests on it, and
 * it may take thousands of predictions: it is worked out only for those who show it.
 */

import { finished } from '../model/index.ts'
import type { Evaluation } from './evaluate.ts'
import { type Expectation, figureOf } from './expectations.ts'
import { toleranceOf } from './judging.ts'
import { uncertaintyInSlices } from './uncertainty.ts'

/** Evicted with the expectation. */
const known = new WeakMap<Expectation, { readonly probability: number | undefined }>()

/**
 * The probability that the settled figure meets the target, a few milliseconds at a time. Undefined where no constant
 * carries `±`, where there is no figure, where it is to hold for a time, and where it is undecided.
 */
export function* probabilityInSlices(
  { input }: Evaluation,
  expectation: Expectation,
): Generator<undefined, number | undefined> {
  const { worst, figure, group, compare, target, predicted, transient, holds, stopsAtC } = expectation
  if (worst === undefined || predicted === null || transient !== undefined) return undefined
  // What is undecided has no probability to go with it, and a machine that stops holds nothing.
  if (holds === null || stopsAtC !== undefined) return undefined
  // A probability by itself; what constants are uncertain by is not in it.
  if (figure === 'stable') return undefined
  const before = known.get(expectation)
  if (before !== undefined) return before.probability
  const carried = yield* uncertaintyInSlices(input, worst, figure === 'margin')
  // The verdict's own tolerance: else what holds exactly would hold with a probability of nothing.
  const limit = target.value + (compare === '>=' ? -1 : 1) * toleranceOf(target)
  const probability = carried?.probability(settled => figureOf(figure, settled, group), compare, limit)
  known.set(expectation, { probability })
  return probability
}

/** The same at once. */
export function probabilityOf(evaluation: Evaluation, expectation: Expectation): number | undefined {
  return finished(probabilityInSlices(evaluation, expectation))
}
