/** A bench laid bare, for tests against published figures. */

import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, Corner, LoopCooler, Part, Profile } from '../../server/model/types.ts'

/**
 * A bench laid bare: one core at one fixed voltage, no leakage, no resistance that a test does not set itself.
 * Figures from outside meet the model here without anything that they do not speak of.
 */
export const barePart: Part = {
  cores: 1,
  referenceGhz: 0.1,
  ratioLow: 1,
  ratioHigh: 100,
  ratioStep: 1,
  dieLimitC: 1000,
  needs: [{ ratio: 1, voltageV: 1 }],
  needsAtC: 60,
  needsSlopeVPerK: 0,
  vectorNeedsV: 0,
  switchingNf: 1,
  leakageW: 0,
  leakageAtV: 1,
  leakageAtC: 25,
  leakageDoublingK: 28,
  leakageExponent: 3,
  sharedPowerW: 0,
  idlePowerW: 0,
  packageResistanceKPerW: 0.1,
  coreResistanceKPerW: 0,
  dieHeatJPerK: 12,
}

const bareProfile: Profile = {
  steps: [{ fromCores: 1, toCores: 64, ratio: 10 }],
  bands: [],
  returnK: 0,
  vectorDrop: 0,
  voltage: { kind: 'fixed', voltageV: 1 },
  limits: {},
  drive: { kind: 'off' },
  fan: [],
}

const bareLoop: LoopCooler = {
  kind: 'loop',
  blockResistanceKPerW: 0.05,
  radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }],
  plateHeatJPerK: 150,
  coolantHeatJPerK: 3000,
}

export const oneCore: WorkLoad = { kind: 'work', cores: 1, activity: 1, vector: false }

export const airAt = (airC: number): Corner => ({ airC, humidityPct: 40 })

export function bareBench(
  part: Partial<Part>,
  cooler: Partial<LoopCooler> = {},
  profile: Partial<Profile> = {},
): Bench {
  return {
    part: { ...barePart, ...part },
    cooler: { ...bareLoop, ...cooler },
    profile: { ...bareProfile, ...profile },
    board: { loadLineOhm: 0, otherPowerW: 0 },
  }
}
