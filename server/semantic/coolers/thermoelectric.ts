/** A plate of thermoelectric modules before a loop: `thermoelectric`. */
import type { ThermoelectricCooler } from '../../model/types.ts'
import { entry, mentions, pureNumber, text } from '../definitions.ts'
import { type Gathering, noteMissing, numberOf, optionalNumber } from '../gather.ts'
import { moduleValues } from '../module.ts'
import type { CoolerKindFacts, SharedConstants } from './kind.ts'
import { radiatorPoints } from './radiator.ts'

function drivenWhenOff(gathering: Gathering): boolean {
  const stated = entry(gathering.block, 'drive-when-off')
  if (stated === undefined) gathering.assumed.push('drive-when-off no')
  return stated !== undefined && text(stated, 'value')?.text === 'yes'
}

/** How the modules hang on their supply; an arrangement of more or fewer modules than there are does not read. */
function wiring(gathering: Gathering, modules: number): Pick<ThermoelectricCooler, 'wiringSeries' | 'wiringParallel'> {
  const stated = entry(gathering.block, 'wiring')
  const series = stated && pureNumber(stated, 'series')?.value
  const parallel = stated && pureNumber(stated, 'parallel')?.value
  if (series === undefined || parallel === undefined) {
    if (mentions(gathering.block, 'wiring')) noteMissing(gathering, 'wiring')
    else if (!Number.isNaN(modules)) gathering.assumed.push(`wiring ${modules} by 1`)
    return { wiringSeries: modules, wiringParallel: 1 }
  }
  if (!Number.isNaN(modules) && series * parallel !== modules) noteMissing(gathering, 'wiring')
  return { wiringSeries: series, wiringParallel: parallel }
}

function read(gathering: Gathering, shared: SharedConstants): ThermoelectricCooler {
  const modules = numberOf(gathering, 'modules', 'modules')
  const supplyLimitA = optionalNumber(gathering, 'supply-limit')
  return {
    kind: 'thermoelectric',
    modules,
    ...moduleValues(gathering),
    driveCurrentA: numberOf(gathering, 'drive-current', 'driveCurrentA'),
    ...wiring(gathering, modules),
    leadsOhm: numberOf(gathering, 'leads', 'leadsOhm'),
    ...(supplyLimitA === undefined ? {} : { supplyLimitA }),
    plateLeakWPerK: numberOf(gathering, 'plate-leak', 'plateLeakWPerK'),
    driveWhenOff: drivenWhenOff(gathering),
    driveLagS: numberOf(gathering, 'drive-lag', 'driveLagS'),
    radiator: radiatorPoints(gathering, 'thermoelectric'),
    coolantHeatJPerK: numberOf(gathering, 'coolant-heat', 'coolantHeatJPerK', 'thermoelectric'),
    ...shared,
  }
}

export const thermoelectric: CoolerKindFacts<ThermoelectricCooler> = {
  isDriven: true,
  fan: 'cools',
  runsCold: true,
  formula:
    'Each module takes α · i · cold - i² · R / 2 - K · (hot - cold), in kelvin; the hot side is air + (radiator + block) · (heat + electrical input).',
  asSet: profile => `As ${profile} drives plate and fan`,
  read,
  plateOf: cooler => cooler,
  radiatorOf: ({ radiator }) => radiator,
  withRows: (cooler, change) => ({ ...cooler, radiator: cooler.radiator.map(change) }),
  coldestSurface: ({ plateC }) => (plateC === null ? undefined : { name: 'plate', temperatureC: plateC }),
  plateToCoolantKPerW: () => undefined,
  plateToAirKPerW: () => undefined,
}
