/** Coolers that give their heat to the air through a radiator alone: `air` and `loop`. */
import type { LoopCooler } from '../../model/types.ts'
import { numberOf } from '../gather.ts'
import type { CoolerKindFacts } from './kind.ts'
import { radiatorAt, radiatorPoints } from './radiator.ts'

function radiating(kind: LoopCooler['kind']): CoolerKindFacts<LoopCooler> {
  return {
    isDriven: false,
    fan: 'cools',
    runsCold: false,
    formula:
      'plate = air + (radiator + block) · heat, the radiator at the duty that the fan table gives for the coolant.',
    asSet: profile => `As ${profile} runs the fan`,
    read: (gathering, shared) => ({
      kind,
      radiator: radiatorPoints(gathering, kind),
      coolantHeatJPerK: numberOf(gathering, 'coolant-heat', 'coolantHeatJPerK', kind),
      ...shared,
    }),
    plateOf: () => undefined,
    radiatorOf: ({ radiator }) => radiator,
    withRows: (cooler, change) => ({ ...cooler, radiator: cooler.radiator.map(change) }),
    coldestSurface: ({ plateC }) => (plateC === null ? undefined : { name: 'plate', temperatureC: plateC }),
    plateToCoolantKPerW: ({ blockResistanceKPerW }) => blockResistanceKPerW,
    plateToAirKPerW: ({ radiator, blockResistanceKPerW }, fanPct) =>
      radiatorAt(radiator, fanPct) + blockResistanceKPerW,
  }
}

export const air = radiating('air')
export const loop = radiating('loop')
