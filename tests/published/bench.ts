/** A bench laid bare, for tests against published figures. */

import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, Corner, LoopCooler, Part, Profile } from '../../server/model/types.ts'
import { makeBench, makeLoop, makePart } from '../harness/make.ts'

/**
 * A bench laid bare: one core at one fixed voltage, no leakage, no resistance that a test does not set itself.
 * Figures from outside meet the model here without anything that they do not speak of.
 */
export const barePart: Part = makePart({
  cores: 1,
  ratioLow: 1,
  ratioHigh: 100,
  dieLimitC: 1000,
  needs: [{ ratio: 1, voltageV: 1 }],
  switchingNf: 1,
  leakageW: 0,
  leakageAtV: 1,
  leakageAtC: 25,
  sharedPowerW: 0,
  idlePowerW: 0,
  coreResistanceKPerW: 0,
})

export const oneCore: WorkLoad = { kind: 'work', cores: 1, activity: 1, vector: false }

export const airAt = (airC: number): Corner => ({ airC, humidityPct: 40 })

export function bareBench(
  part: Partial<Part>,
  cooler: Partial<LoopCooler> = {},
  profile: Partial<Profile> = {},
): Bench {
  return makeBench({
    part: { ...barePart, ...part },
    cooler: makeLoop({ radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }], ...cooler }),
    profile: {
      steps: [{ fromCores: 1, toCores: 64, ratio: 10 }],
      voltage: { kind: 'fixed', voltageV: 1 },
      drive: { kind: 'off' },
      ...profile,
    },
    board: { otherPowerW: 0 },
  })
}
