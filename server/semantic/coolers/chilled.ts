/** Coolant that a chiller holds at a temperature of its own: `chilled`. */
import type { ChilledCooler } from '../../model/types.ts'
import { numberOf } from '../gather.ts'
import type { CoolerKindFacts } from './kind.ts'

export const chilled: CoolerKindFacts<ChilledCooler> = {
  isDriven: false,
  fan: { idle: 'its chiller holds the coolant temperature, so no fan curve applies' },
  runsCold: true,
  formula: 'plate = coolant + block · heat',
  asSet: profile => `With the coolant as the chiller holds it, in ${profile}`,
  caution: 'Coolant below the dew point drips on the board; pressurised refrigerant is for people licensed for it.',
  read: (gathering, shared) => ({
    kind: 'chilled',
    coolantC: numberOf(gathering, 'coolant', 'coolantC'),
    capacityW: numberOf(gathering, 'capacity', 'capacityW'),
    beyondKPerW: numberOf(gathering, 'beyond', 'beyondKPerW'),
    ...shared,
  }),
  plateOf: () => undefined,
  radiatorOf: () => [],
  withRows: cooler => cooler,
  coldestSurface: ({ plateC, coolantC }) => {
    if (plateC === null) return undefined
    return coolantC !== null && coolantC < plateC
      ? { name: 'coolant', temperatureC: coolantC }
      : { name: 'plate', temperatureC: plateC }
  },
  plateToCoolantKPerW: ({ blockResistanceKPerW }) => blockResistanceKPerW,
  plateToAirKPerW: () => undefined,
}
