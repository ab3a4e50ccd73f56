/** The rows of a radiator, and what else coolers with one share. */
import { radiatorLaw, radiatorResistance } from '../../model/index.ts'
import type { RadiatorPoint } from '../../model/types.ts'
import { quantity, rows } from '../definitions.ts'
import { type Gathering, noteUncertain, required } from '../gather.ts'

/** One point is a constant, two give a power law; more, or two at one duty, say nothing that the model can use. */
function radiatorFits(points: readonly { readonly dutyPct: number }[]): boolean {
  return points.length === 1 || (points.length === 2 && points[0]?.dutyPct !== points[1]?.dutyPct)
}

/** The rows by rising duty; where they do not fit the key word is noted as broken. */
export function radiatorPoints(gathering: Gathering): RadiatorPoint[] {
  const table = required(gathering, 'radiator')
  if (table === undefined) return []
  const points = rows(table).map(row => ({
    dutyPct: quantity(row, 'duty')?.value ?? Number.NaN,
    resistanceKPerW: quantity(row, 'resistance')?.value ?? Number.NaN,
    uncertainty: quantity(row, 'resistance')?.uncertainty,
  }))
  points.sort((a, b) => a.dutyPct - b.dutyPct)
  if (!radiatorFits(points)) gathering.broken.push('radiator')
  points.forEach((point, index) => {
    const column = 'resistanceKPerW'
    noteUncertain(gathering, `radiator ${point.dutyPct} %`, point.uncertainty, [
      { field: 'radiator', row: { index, column }, per: 1 },
    ])
  })
  return points.map(({ dutyPct, resistanceKPerW }) => ({ dutyPct, resistanceKPerW }))
}

/** Resistance of the radiator at a fan duty, in K/W. */
export function radiatorAt(points: readonly RadiatorPoint[], fanPct: number): number {
  return radiatorResistance(radiatorLaw(points), fanPct)
}
