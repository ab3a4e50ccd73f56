/** Hover of what a radiator comes to, for all kinds that have one. */
import type { CoolerWord } from '../../../../grammar/vocabulary/cooler.ts'
import { radiatorLaw, radiatorResistance } from '../../../model/index.ts'
import type { LoopCooler, RadiatorPoint } from '../../../model/types.ts'
import { percentText, significant, thermalResistanceText } from '../../../wording/figures.ts'
import { paragraphs, table } from '../../markdown.ts'
import { type CoolerHover, warmingText } from './kind.ts'

/** A round heat at which resistances are easily compared. */
const heatW = 200

interface Radiating {
  readonly radiator: readonly RadiatorPoint[]
  readonly blockResistanceKPerW: number
  readonly coolantHeatJPerK: number
}

export function radiatorText({ radiator: points, blockResistanceKPerW }: Radiating): string {
  const law = radiatorLaw(points)
  const rows = points.map(({ dutyPct }) => {
    const radiator = radiatorResistance(law, dutyPct)
    const whole = radiator + blockResistanceKPerW
    return [
      percentText(dutyPct),
      thermalResistanceText(radiator),
      thermalResistanceText(whole),
      `${significant(whole * heatW, 3)} K`,
    ]
  })
  return paragraphs(
    table(['Fan', 'Radiator', 'With block', `Rise at ${heatW} W`], rows),
    law.exponent === 0
      ? 'The radiator counts as constant.'
      : `Between the rows a power law: radiator = ${thermalResistanceText(law.refResistanceKPerW)} · (${percentText(law.refDutyPct)} / duty)^${significant(law.exponent, 3)}.`,
  )
}

/** The keys of a radiator and what flows through it. */
export function radiatorKey(cooler: Radiating, word: CoolerWord): string | undefined {
  if (word === 'radiator' || word === '') return radiatorText(cooler)
  return word === 'coolant-heat' ? warmingText(cooler.coolantHeatJPerK) : undefined
}

export const radiating: CoolerHover<LoopCooler> = {
  figures: cooler => [radiatorText(cooler)],
  key: radiatorKey,
}
