/** How much more voltage the part needs per kelvin, from how its runs ended. */

import type { Part } from '../../model/types.ts'
import { interpolateRows } from '../../model/voltage.ts'
import type { Reading } from '../log/figures.ts'
import type { Outcome } from '../run/record.ts'

/**
 * How much more voltage is needed per kelvin, from runs that held and runs that did not.
 *
 * A run that held had at least what was needed, V ≥ needs(r) + s·(T − T_needs) (and `vector-needs` under a vector load);
 * one that stopped for lack of voltage had less. Each run so bounds the slope s from one side, and all together leave a
 * range. Within it no value is likelier than another: its middle, with the range over √12 (JCGM 100:2008, 4.3.7), and
 * the uncertainties of the two readings that bound it, each of which moves the middle by half of itself.
 */
export interface NeedsEvidence {
  readonly run: string
  /** What it needs: of a part with groups as if one group's cores were all that it has. */
  readonly part: Pick<Part, 'needs' | 'needsAtC' | 'vectorNeedsV'>
  readonly vector: boolean
  readonly ratio: Reading
  /** At the die. */
  readonly voltage: Reading
  readonly die: Reading
  readonly held: boolean
}

/** A run that held for less has shown little: judgement. */
const HELD_FROM_S = 600

/** What a run sees that has too little voltage, in the words that people have for it. */
const shortage = /\b(?:hang|hung|fr[eo]+ze|crash|error|fault|wrong|mismatch|corrupt|panic|reset|reboot|restart)/i

/** Why a run's end says nothing of the voltage needed; undefined where it does. */
export function whyNoEvidence(outcome: Outcome, dieC: number, part: Part): string | undefined {
  if (outcome.kind === 'held') return outcome.forS < HELD_FROM_S ? 'it held for less than 10 min' : undefined
  if (!shortage.test(outcome.what)) return `“${outcome.what}” need not be for lack of voltage`
  return dieC >= part.dieLimitC ? 'it stopped with the die at its limit' : undefined
}

export type NeedsSlope =
  | {
      readonly known: true
      readonly valueVPerK: number
      readonly standardUncertainty: number
      readonly range: readonly [low: number, high: number]
    }
  /** Then it stays as stated. */
  | { readonly known: false; readonly valueVPerK: number; readonly why: string }

/** A run nearer than this to the temperature of the measured needs says nothing of the slope. */
const LEAST_LEVER_K = 3
/** Bounds further past each other than so many standard uncertainties contradict each other. */
const COVERAGE = 2

interface Bound {
  readonly run: string
  readonly slope: number
  readonly uncertainty: number
}

/** @param stated what the part, or the group, says now */
export function needsSlope(
  stated: Pick<Part, 'needsAtC' | 'needsSlopeVPerK'>,
  evidence: readonly NeedsEvidence[],
): NeedsSlope {
  let [low, high]: [Bound | undefined, Bound | undefined] = [undefined, undefined]
  for (const { run, part, vector, ratio, voltage, die, held } of evidence) {
    const lever = die.value - part.needsAtC
    if (Math.abs(lever) < LEAST_LEVER_K) continue
    const needs = (by: number): number => interpolateRows(part.needs, ratio.value + by * ratio.standardUncertainty)
    const slope = (voltage.value - needs(0) - (vector ? part.vectorNeedsV : 0)) / lever
    const ofNeeds = (needs(1) - needs(-1)) / 2
    const uncertainty =
      Math.hypot(voltage.standardUncertainty, ofNeeds, slope * die.standardUncertainty) / Math.abs(lever)
    const bound = { run, slope, uncertainty }
    // Warmer than the needs were measured a run that held bounds the slope from above; colder, from below.
    if (held === lever > 0) {
      if (slope < (high?.slope ?? Number.POSITIVE_INFINITY)) high = bound
    } else if (slope > (low?.slope ?? Number.NEGATIVE_INFINITY)) low = bound
  }
  const asStated = { known: false, valueVPerK: stated.needsSlopeVPerK } as const
  if (low === undefined || high === undefined) {
    const why = `it takes a run that held for 10 min or more and one that stopped with an error, a hang or a restart, both some kelvin from the temperature of the measured needs (${stated.needsAtC} °C)`
    return { ...asStated, why }
  }
  const ofReadings = Math.hypot(low.uncertainty, high.uncertainty)
  const width = high.slope - low.slope
  if (-width > COVERAGE * ofReadings) return { ...asStated, why: `${low.run} and ${high.run} contradict each other` }
  return {
    known: true,
    valueVPerK: (low.slope + high.slope) / 2,
    standardUncertainty: Math.hypot(Math.max(0, width) / Math.sqrt(12), ofReadings / 2),
    range: [low.slope, high.slope],
  }
}
