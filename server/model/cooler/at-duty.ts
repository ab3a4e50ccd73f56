/** A radiator at a fan's duty: what whoever follows a log asks, where readings stand for the profile. */

import { radiatorLaw, radiatorResistance } from '../fan.ts'
import type { RadiatorPoint } from '../types.ts'
import type { CoolerEnd, Duty } from './kind.ts'

const BISECTIONS = 40

/** The coolant at a heat that goes into the radiator, in °C. */
export function radiatedCoolantC(points: readonly RadiatorPoint[], airC: number, duty: Duty, heatW: number): number {
  const law = radiatorLaw(points)
  if (typeof duty === 'number') return airC + radiatorResistance(law, duty) * heatW
  const at = (coolant: number): number => airC + radiatorResistance(law, duty(coolant)) * heatW - coolant
  let [low, high] = [airC, airC + law.lowResistanceKPerW * heatW]
  if (!(high > low)) return high
  for (let round = 0; round < BISECTIONS && high - low > 1e-9; round++) {
    const middle = (low + high) / 2
    if (at(middle) > 0) low = middle
    else high = middle
  }
  return (low + high) / 2
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
