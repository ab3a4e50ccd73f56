/** A bench that can be worked out on paper: no leakage, one voltage, a loop without a fan table. */
import type { Bench, Corner, Load, Part, Profile } from '../../server/model/types.ts'

const part: Part = {
  cores: 8,
  referenceGhz: 0.1,
  ratioLow: 10,
  ratioHigh: 60,
  ratioStep: 1,
  dieLimitC: 110,
  needs: [
    { ratio: 40, voltageV: 1 },
    { ratio: 50, voltageV: 1.2 },
  ],
  needsAtC: 60,
  needsSlopeVPerK: 0,
  vectorNeedsV: 0,
  switchingNf: 2,
  leakageW: 0,
  leakageAtV: 1.2,
  leakageAtC: 25,
  leakageDoublingK: 25,
  leakageExponent: 3,
  sharedPowerW: 10,
  idlePowerW: 9,
  packageResistanceKPerW: 0.1,
  coreResistanceKPerW: 0.5,
  dieHeatJPerK: 12,
}

const profile: Profile = {
  steps: [{ fromCores: 1, toCores: 8, ratio: 50 }],
  bands: [],
  returnK: 0,
  vectorDrop: 0,
  voltage: { kind: 'fixed', voltageV: 1.2 },
  limits: {},
  drive: { kind: 'full' },
  fan: [],
}

export const loop: Bench = {
  part,
  cooler: {
    kind: 'loop',
    blockResistanceKPerW: 0.05,
    radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }],
    plateHeatJPerK: 150,
    coolantHeatJPerK: 3000,
  },
  profile,
  board: { loadLineOhm: 0, otherPowerW: 50 },
}

export const corner: Corner = { airC: 25, humidityPct: 50 }
export const all: Load = { kind: 'work', cores: 8, activity: 1, vector: false }

export const withPart = (change: Partial<Part>): Bench => ({ ...loop, part: { ...part, ...change } })
export const withProfile = (change: Partial<Profile>): Bench => ({ ...loop, profile: { ...profile, ...change } })
