import type { WorkLoad } from '../model/prepare.ts'
import type { Part } from '../model/types.ts'
import { interpolateRows } from '../model/voltage.ts'

/**
 * How much more voltage is needed per kelvin, from runs that held and runs that did not.
 *
 * A run that held had at least what was needed, V ≥ needs(r) + s·(T − T_needs) (and `vector-needs` under a vector load);
 * one that stopped had less. Each run so bounds the slope s from one side, and all together leave a range. Within it no
 * value is likelier than another: its middle, with the range over √12 (JCGM 100:2008, 4.3.7).
 */
export interface NeedsEvidence {
  readonly run: string
  readonly load: WorkLoad
  readonly ratio: number
  /** At the die. */
  readonly voltageV: number
  readonly dieC: number
  readonly held: boolean
}

export type NeedsSlope =
  | {
      readonly known: true
      readonly valueVPerK: number
      readonly standardUncertainty: number
      readonly range: readonly [low: number, high: number]
    }
  | { readonly known: false; readonly why: string }

/** A run nearer than this to the temperature of the measured needs says nothing of the slope. */
const LEAST_LEVER_K = 3

export function needsSlope(part: Part, evidence: readonly NeedsEvidence[]): NeedsSlope {
  let [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY]
  let [lowRun, highRun] = ['', '']
  for (const { run, load, ratio, voltageV, dieC, held } of evidence) {
    const lever = dieC - part.needsAtC
    if (Math.abs(lever) < LEAST_LEVER_K) continue
    const spare = voltageV - interpolateRows(part.needs, ratio) - (load.vector ? part.vectorNeedsV : 0)
    const slope = spare / lever
    // Warmer than the needs were measured a run that held bounds the slope from above; colder, from below.
    if (held === lever > 0) {
      if (slope < high) [high, highRun] = [slope, run]
    } else if (slope > low) [low, lowRun] = [slope, run]
  }
  if (low === Number.NEGATIVE_INFINITY || high === Number.POSITIVE_INFINITY) {
    return {
      known: false,
      why: 'it takes a run that held and one that stopped, some kelvin from the temperature of the measured needs',
    }
  }
  if (low > high) return { known: false, why: `${lowRun} and ${highRun} contradict each other` }
  return {
    known: true,
    valueVPerK: (low + high) / 2,
    standardUncertainty: (high - low) / Math.sqrt(12),
    range: [low, high],
  }
}
