/** An invented bench for tests of runs over time. */

import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, Corner, LoopCooler, Part, Profile, ThermoelectricCooler } from '../../server/model/types.ts'

/** An invented bench in the middle of the usual range, for tests that say what they change. */
const part: Part = {
  cores: 10,
  referenceGhz: 0.1,
  ratioLow: 8,
  ratioHigh: 60,
  ratioStep: 1,
  dieLimitC: 100,
  needs: [
    { ratio: 36, voltageV: 1.0 },
    { ratio: 44, voltageV: 1.12 },
    { ratio: 50, voltageV: 1.27 },
  ],
  needsAtC: 60,
  needsSlopeVPerK: 0,
  vectorNeedsV: 0,
  switchingNf: 2.4,
  leakageW: 18,
  leakageAtV: 1.1,
  leakageAtC: 60,
  leakageDoublingK: 28,
  leakageExponent: 3,
  sharedPowerW: 12,
  idlePowerW: 10,
  packageResistanceKPerW: 0.1,
  coreResistanceKPerW: 0.4,
  dieHeatJPerK: 12,
}

const profile: Profile = {
  steps: [{ fromCores: 1, toCores: 10, ratio: 49 }],
  bands: [],
  returnK: 0,
  vectorDrop: 0,
  voltage: { kind: 'needs', offsetV: 0, set: [] },
  limits: {},
  drive: { kind: 'full' },
  fan: [],
}

export const loopCooler: LoopCooler = {
  kind: 'loop',
  blockResistanceKPerW: 0.04,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.09 },
    { dutyPct: 100, resistanceKPerW: 0.045 },
  ],
  plateHeatJPerK: 150,
  coolantHeatJPerK: 3000,
}

export const plateCooler: ThermoelectricCooler = {
  kind: 'thermoelectric',
  modules: 3,
  seebeckVPerK: 0.0513,
  resistanceOhm: 0.794,
  conductanceWPerK: 1.31,
  driveCurrentA: 7,
  driveWhenOff: false,
  blockResistanceKPerW: 0.03,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.09 },
    { dutyPct: 100, resistanceKPerW: 0.04 },
  ],
  plateHeatJPerK: 150,
  coolantHeatJPerK: 3000,
}

export const fanTable = [
  { coolantC: 24, dutyPct: 25 },
  { coolantC: 34, dutyPct: 55 },
  { coolantC: 48, dutyPct: 100 },
]

export const allCores: WorkLoad = { kind: 'work', cores: 10, activity: 1, vector: false }
export const room: Corner = { airC: 22, humidityPct: 45 }

export interface Changes {
  readonly part?: Partial<Part>
  readonly cooler?: Bench['cooler']
  readonly profile?: Partial<Profile>
  readonly board?: Partial<Bench['board']>
}

export function benchWith(changes: Changes = {}): Bench {
  return {
    part: { ...part, ...changes.part },
    cooler: changes.cooler ?? loopCooler,
    profile: { ...profile, ...changes.profile },
    board: { loadLineOhm: 0, otherPowerW: 50, ...changes.board },
  }
}
