/**
 * One bench for all profiles that come to the same numbers, so that what is predicted of one is predicted of all: a person
 * keeps profiles that differ in a name, an expectation, a note or a step for other core counts.
 *
 * Invariant: two profiles have the very same bench only where part, cooler, board and fitted constants are the very same
 * definitions, every number of their settings is equal, and the same defaults stand in. What is kept by a bench may rest on
 * these alone, never on a profile's name or place.
 */

import { onceFor } from '../../grammar/once.ts'
import type { Bench, Cooler, Part } from '../model/types.ts'
import type { Definition } from './definitions.ts'
import type { Correlation, UncertainConstant } from './gather.ts'

/** A bench, and what stands for all profiles on it. */
export interface SharedBench {
  readonly bench: Bench
  readonly assumed: readonly string[]
  readonly uncertain: readonly UncertainConstant[]
  readonly correlated: readonly Correlation[]
  /** What else its numbers were read from. */
  readonly board: Definition | undefined
  readonly fitted: Definition | undefined
}

/** So many more are made before those that nobody holds any longer are let go. */
const LEAST_SWEPT = 256

interface Pool {
  readonly byNumbers: Map<string, WeakRef<SharedBench>>
  sweepAt: number
}

/** Evicted with the part's or the cooler's chunk; each bench in it once no evaluation holds it. */
const poolOf = onceFor((_part: Part) =>
  onceFor((_cooler: Cooler): Pool => ({ byNumbers: new Map(), sweepAt: LEAST_SWEPT })),
)

function sweep(pool: Pool): void {
  for (const [numbers, held] of pool.byNumbers) if (held.deref() === undefined) pool.byNumbers.delete(numbers)
  pool.sweepAt = pool.byNumbers.size + LEAST_SWEPT
}

/** The bench of these numbers: one that was made before, where there is one, else the one that is given. */
export function sharedBench(made: SharedBench): SharedBench {
  const { part, cooler, profile, board } = made.bench
  const numbers = JSON.stringify([profile, board, made.assumed])
  // What does not read is no number in JSON: such a bench is nobody else's.
  if (numbers.includes('null')) return made
  const pool = poolOf(part)(cooler)
  const before = pool.byNumbers.get(numbers)?.deref()
  if (before !== undefined) return before.board === made.board && before.fitted === made.fitted ? before : made
  if (pool.byNumbers.size >= pool.sweepAt) sweep(pool)
  pool.byNumbers.set(numbers, new WeakRef(made))
  return made
}
