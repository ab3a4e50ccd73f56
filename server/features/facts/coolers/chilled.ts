/** Hover of a chilled cooler. */
import type { CoolerWord } from '../../../../grammar/vocabulary/cooler.ts'
import type { ChilledCooler } from '../../../model/types.ts'
import { plain, powerText, significant, temperatureText, thermalResistanceText } from '../../../wording/figures.ts'
import { list } from '../../markdown.ts'
import type { CoolerHover } from './kind.ts'

function chilledText({ coolantC, capacityW, beyondKPerW, blockResistanceKPerW }: ChilledCooler): string {
  const plateC = coolantC + blockResistanceKPerW * capacityW
  return list([
    `plate at the full capacity of ${powerText(capacityW)}: coolant ${plain(coolantC)} °C + block ${thermalResistanceText(blockResistanceKPerW)} · heat = ${temperatureText(plateC)}`,
    `beyond it the coolant warms by ${significant(beyondKPerW * 100, 3)} K for each further 100 W`,
  ])
}

const ofChiller: ReadonlySet<CoolerWord> = new Set(['coolant', 'capacity', 'beyond'])

export const chilled: CoolerHover<ChilledCooler> = {
  figures: cooler => [chilledText(cooler)],
  key: (cooler, word) => (ofChiller.has(word) ? chilledText(cooler) : undefined),
}
