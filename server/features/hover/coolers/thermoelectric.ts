/** Hover of a thermoelectric plate; its modules have a hover of their own. */
import type { ThermoelectricCooler } from '../../../model/types.ts'
import { plain } from '../../../wording/figures.ts'
import { moduleSummary } from '../module.ts'
import type { CoolerHover } from './kind.ts'
import { radiatorKey, radiatorText } from './radiating.ts'

function drivenText({ modules, driveCurrentA }: ThermoelectricCooler): string {
  return `${plain(modules)} modules side by side, each with up to ${plain(driveCurrentA)} A.`
}

export const thermoelectric: CoolerHover<ThermoelectricCooler> = {
  figures: (cooler, definition) => [drivenText(cooler), radiatorText(cooler), moduleSummary(definition, cooler)],
  key: (cooler, word) =>
    word === 'modules' || word === 'drive-current' ? drivenText(cooler) : radiatorKey(cooler, word),
}
