/** The rows of a radiator, and what else coolers with one share. */
import type { CoolerKind } from '../../../grammar/vocabulary/index.ts'
import { usualRadiator, usualRowsText } from '../../../grammar/vocabulary/usual-values.ts'
import { radiatorLaw, radiatorResistance } from '../../model/index.ts'
import type { RadiatorPoint } from '../../model/types.ts'
import { mentions, quantity, rows } from '../definitions.ts'
import { type Gathering, noteUncertain, noteUsual, required, takeUsual } from '../gather.ts'

/** One point is a constant, two give a power law; more, or two at one duty, say nothing that the model can use. */
function radiatorFits(points: readonly { readonly dutyPct: number }[]): boolean {
  return points.length === 1 || (points.length === 2 && points[0]?.dutyPct !== points[1]?.dutyPct)
}

/** The rows of a radiator that is left out, each with its spread. */
function usualPoints(gathering: Gathering, kind: CoolerKind): RadiatorPoint[] {
  const rows = usualRadiator[kind]
  noteUsual(gathering, 'radiator', usualRowsText(rows), rows[0]?.resistance.spread ?? 1)
  return rows.map(({ dutyPct, resistance }, index) => {
    const row = { index, column: 'resistanceKPerW' }
    return {
      dutyPct,
      resistanceKPerW: takeUsual(gathering, `radiator ${dutyPct} %`, resistance, { field: 'radiator', row }),
    }
  })
}

/** The rows by rising duty; where they do not fit the key word is noted as broken. Left out, the usual ones of the kind. */
export function radiatorPoints(gathering: Gathering, kind: CoolerKind): RadiatorPoint[] {
  if (!mentions(gathering.block, 'radiator')) return usualPoints(gathering, kind)
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
