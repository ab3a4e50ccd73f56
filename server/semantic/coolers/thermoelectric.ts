/** A plate of thermoelectric modules before a loop: `thermoelectric`. */
import type { ThermoelectricCooler } from '../../model/types.ts'
import { entry, text } from '../definitions.ts'
import { type Gathering, numberOf } from '../gather.ts'
import { moduleValues } from '../module.ts'
import type { CoolerKindFacts } from './kind.ts'
import { radiatorAt, radiatorPoints } from './radiator.ts'

function drivenWhenOff(gathering: Gathering): boolean {
  const stated = entry(gathering.block, 'drive-when-off')
  if (stated === undefined) gathering.assumed.push('drive-when-off no')
  return stated !== undefined && text(stated, 'value')?.text === 'yes'
}

export const thermoelectric: CoolerKindFacts<ThermoelectricCooler> = {
  isDriven: true,
  hasFan: true,
  runsCold: true,
  formula:
    'Each module takes α · i · cold - i² · R / 2 - K · (hot - cold), in kelvin; the hot side is air + (radiator + block) · (heat + electrical input).',
  asSet: profile => `As ${profile} drives plate and fan`,
  read: (gathering, shared) => ({
    kind: 'thermoelectric',
    modules: numberOf(gathering, 'modules', 'modules'),
    ...moduleValues(gathering),
    driveCurrentA: numberOf(gathering, 'drive-current', 'driveCurrentA'),
    driveWhenOff: drivenWhenOff(gathering),
    radiator: radiatorPoints(gathering),
    coolantHeatJPerK: numberOf(gathering, 'coolant-heat', 'coolantHeatJPerK', 'thermoelectric'),
    ...shared,
  }),
  plateOf: cooler => cooler,
  radiatorOf: ({ radiator }) => radiator,
  coldestSurface: ({ plateC }) => (plateC === null ? undefined : { name: 'plate', temperatureC: plateC }),
  plateToCoolantKPerW: () => undefined,
  wayToAir: ({ radiator, blockResistanceKPerW, coolantHeatJPerK, modules, conductanceWPerK }, fanPct) => {
    const radiatorKPerW = radiatorAt(radiator, fanPct)
    // Heat leaves the plate through the modules by conduction at least.
    const plateKPerW = radiatorKPerW + blockResistanceKPerW + 1 / (modules * conductanceWPerK)
    return { plateKPerW, behind: [[coolantHeatJPerK, radiatorKPerW]] }
  },
}
