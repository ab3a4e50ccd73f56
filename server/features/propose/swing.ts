/** What a case does where bands are left below their threshold. */

import { latchOf } from '../../checks/bands/return-latches.ts'
import { type Bench, bandPeriodS } from '../../model/index.ts'
import type { BenchCase } from './cases.ts'
import type { Seen } from './faults.ts'

/** A clock that goes back and forth more often than that is faster than anybody wants. */
const FAST_S = 5

/**
 * Whether a band, once entered, is not left again, and whether the clock goes back and forth at one faster than is wanted.
 * @param bench with the steps, bands and `return`
 * @param isFaulty it is not sound in any case, so that how fast it is does not matter
 */
export function swingOf(
  bench: Bench,
  { name, load, air: { corner } }: BenchCase,
  { figures, state }: Seen,
  isFaulty: boolean,
): { readonly latches: boolean; readonly isFast: boolean } {
  const settled = { ...state(), marginW: null }
  const latches =
    latchOf(bench, { load: { name, definition: undefined, load }, corner, settled, assumed: [] }) !== undefined
  const swings = !isFaulty && !latches && figures.state === 'alternating' && figures.limiter === 'band'
  return { latches, isFast: swings && bandPeriodS(bench, load, corner, figures, FAST_S) !== undefined }
}
