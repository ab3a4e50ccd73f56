/**
 * What may fail of a cooler during a course, and what is left of it then. The figures are engineering judgement: how a
 * block passes heat without flow, and a radiator without a fan, has no number that holds on every bench.
 */

import { radiatorLaw, radiatorResistance } from '../fan.ts'
import type { RadiatorPoint } from '../types.ts'

/** What is left of one of these is stated in percent. */
export const shareWords = ['pump', 'fan', 'chiller', 'radiator'] as const
export type ShareWord = (typeof shareWords)[number]
export type FaultWord = ShareWord | 'drive'

/** What is left of each, in percent; of the radiator's resistance, what it is times. */
export interface Faults {
  readonly pumpPct: number
  /** The fan stands at this duty whatever its table says; absent: the table. */
  readonly fanPct?: number
  readonly chillerPct: number
  readonly radiatorPct: number
  readonly driveIsOn: boolean
}

export const noFaults: Faults = { pumpPct: 100, chillerPct: 100, radiatorPct: 100, driveIsOn: true }

/** Convection grows with the flow to the power 0.8 (turbulent, as in Dittus and Boelter); this much is left without any. */
const LEAST_FLOW = 0.03
const FLOW_EXPONENT = 0.8

/** Conductance of a fan that stands still over that at 100 % duty. */
const STILL_SHARE = 1 / 8
const FULL_PCT = 100

/** The block's resistance at the flow that is left. */
export function blockAt(
  { blockResistanceKPerW }: { readonly blockResistanceKPerW: number },
  { pumpPct }: Faults,
): number {
  if (pumpPct === FULL_PCT) return blockResistanceKPerW
  return blockResistanceKPerW / Math.max(LEAST_FLOW, (pumpPct / FULL_PCT) ** FLOW_EXPONENT)
}

/** The radiator's rows: one that holds at every duty where the fan has a fault. */
export function radiatorAt(
  points: readonly RadiatorPoint[],
  { fanPct, radiatorPct }: Faults,
): readonly RadiatorPoint[] {
  const rows =
    radiatorPct === FULL_PCT
      ? points
      : points.map(one => ({ ...one, resistanceKPerW: (one.resistanceKPerW * radiatorPct) / FULL_PCT }))
  if (fanPct === undefined) return rows
  return [{ dutyPct: FULL_PCT, resistanceKPerW: resistanceAtFault(rows, fanPct) }]
}

/** Below the lowest measured duty the conductance runs straight down to that of a fan that stands still. */
function resistanceAtFault(rows: readonly RadiatorPoint[], fanPct: number): number {
  const law = radiatorLaw(rows)
  if (fanPct >= law.lowDutyPct) return radiatorResistance(law, fanPct)
  const still = STILL_SHARE / radiatorResistance(law, FULL_PCT)
  const low = 1 / law.lowResistanceKPerW
  return 1 / (still + ((low - still) * fanPct) / law.lowDutyPct)
}
