/** The radiator at a given fan duty, for whoever follows a log: readings take the place of the profile. */

import { radiatorLaw, radiatorResistance } from '../fan.ts'
import { rootBetween, type Sought } from '../root.ts'
import type { RadiatorPoint } from '../types.ts'
import type { CoolerEnd, Duty } from './kind.ts'

/** Of the coolant, in parts of 1 K + |°C|: far below what any sensor tells apart. */
const TOLERANCE = 1e-11

/** The coolant at a heat that goes into the radiator, in °C. */
export function radiatedCoolantC(points: readonly RadiatorPoint[], airC: number, duty: Duty, heatW: number): number {
  const law = radiatorLaw(points)
  if (typeof duty === 'number') return airC + radiatorResistance(law, duty) * heatW
  const hottestC = airC + law.lowResistanceKPerW * heatW
  if (!(hottestC > airC)) return hottestC
  const beyond = (coolantC: number, out: Sought): void => {
    out.value = coolantC - airC - radiatorResistance(law, duty(coolantC)) * heatW
  }
  return rootBetween(beyond, airC, hottestC, (airC + hottestC) / 2, TOLERANCE)
}

/** The air behind a radiator. */
export function radiatedEnd(points: readonly RadiatorPoint[]): CoolerEnd {
  const law = radiatorLaw(points)
  let [lastPct, kPerW] = [Number.NaN, 0]
  return {
    endC: airC => airC,
    endKPerW: (_endC, _coolantC, dutyPct) => {
      if (dutyPct !== lastPct) kPerW = radiatorResistance(law, dutyPct)
      lastPct = dutyPct
      return kPerW
    },
  }
}
