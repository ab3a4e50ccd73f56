/** Hover of a thermoelectric plate and its supply; its modules have a hover of their own. */
import type { CoolerWord } from '../../../../grammar/vocabulary/cooler.ts'
import type { ThermoelectricCooler } from '../../../model/types.ts'
import { currentText, plain, powerText, quantityText, statedText, voltageText } from '../../../wording/figures.ts'
import { moduleSummary, moduleWarnings } from '../module.ts'
import type { CoolerHover } from './kind.ts'
import { radiatorKey, radiatorText } from './radiating.ts'

function drivenText({ modules, driveCurrentA }: ThermoelectricCooler): string {
  return `${plain(modules)} modules side by side, each with up to ${plain(driveCurrentA)} A.`
}

/** What the supply gives in all when every module has its most. */
const wholeA = ({ wiringParallel = 1, driveCurrentA }: ThermoelectricCooler): number => wiringParallel * driveCurrentA

function wiringText(cooler: ThermoelectricCooler): string {
  const { wiringSeries = cooler.modules, wiringParallel = 1 } = cooler
  const strings = wiringParallel === 1 ? 'one string' : `${wiringParallel} strings`
  return `${strings} of ${wiringSeries} in series: the supply gives ${wiringParallel} times the current of a module, up to ${currentText(wholeA(cooler))}, at ${wiringSeries} times its voltage.`
}

function leadsText(cooler: ThermoelectricCooler): string {
  const { leadsOhm = 0 } = cooler
  const currentA = wholeA(cooler)
  return `At ${currentText(currentA)} in all they take ${voltageText(leadsOhm * currentA)} and ${powerText(leadsOhm * currentA ** 2)}. \`drive supply\` counts both.`
}

function limitText(cooler: ThermoelectricCooler): string | undefined {
  const { supplyLimitA, wiringParallel = 1, driveCurrentA } = cooler
  if (supplyLimitA === undefined) return undefined
  const eachA = supplyLimitA / wiringParallel
  const least = eachA < driveCurrentA ? 'it stops the current' : '`drive-current` stops the current'
  return `${currentText(eachA)} for each string: ${least} before ${eachA < driveCurrentA ? '`drive-current`' : 'it'} does.`
}

function leakText({ plateLeakWPerK = 0 }: ThermoelectricCooler): string {
  return `A plate 10 K below the air takes up ${quantityText(plateLeakWPerK * 10, 'W')}, which the modules pump in addition to the load's heat.`
}

function keyText(cooler: ThermoelectricCooler, word: CoolerWord): string | undefined {
  switch (word) {
    case 'modules':
    case 'drive-current':
      return drivenText(cooler)
    case 'wiring':
      return wiringText(cooler)
    case 'leads':
      return leadsText(cooler)
    case 'supply-limit':
      return limitText(cooler)
    case 'plate-leak':
      return leakText(cooler)
    default:
      return radiatorKey(cooler, word)
  }
}

/** What of the supply and the leak is more than the simplest plate has. */
function supplyTexts(cooler: ThermoelectricCooler): readonly string[] {
  const { plateLeakWPerK = 0, wiringParallel = 1, supplyLimitA } = cooler
  return [
    ...(wiringParallel > 1 ? [`Wired in ${wiringText(cooler)}`] : []),
    ...(supplyLimitA === undefined ? [] : [`The supply gives up to ${statedText(supplyLimitA, 'A')}.`]),
    ...(plateLeakWPerK > 0 ? [leakText(cooler)] : []),
  ]
}

export const thermoelectric: CoolerHover<ThermoelectricCooler> = {
  figures: (cooler, definition) => [
    [drivenText(cooler), ...supplyTexts(cooler)].join(' '),
    radiatorText(cooler),
    moduleSummary(definition, cooler),
  ],
  warnings: (_, definition) => moduleWarnings(definition),
  key: keyText,
}
