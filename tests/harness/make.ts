/** Builders of benches in the model's numbers: an invented one in the middle of the usual range, less what a test changes. */
import type {
  Bench,
  Board,
  ChilledCooler,
  Cooler,
  LoopCooler,
  Part,
  Profile,
  ThermoelectricCooler,
} from '../../server/model/types.ts'

export const makePart = (change: Partial<Part> = {}): Part => ({
  cores: 8,
  referenceGhz: 0.1,
  ratioLow: 10,
  ratioHigh: 60,
  ratioStep: 1,
  dieLimitC: 100,
  needs: [
    { ratio: 30, voltageV: 0.9 },
    { ratio: 50, voltageV: 1.2 },
    { ratio: 60, voltageV: 1.45 },
  ],
  needsAtC: 60,
  needsSlopeVPerK: 0,
  vectorNeedsV: 0,
  switchingNf: 2,
  leakageW: 16,
  leakageAtV: 1.2,
  leakageAtC: 60,
  leakageDoublingK: 28,
  leakageExponent: 3,
  sharedPowerW: 14,
  idlePowerW: 9,
  packageResistanceKPerW: 0.1,
  coreResistanceKPerW: 0.5,
  dieHeatJPerK: 12,
  ...change,
})

export const makeLoop = (change: Partial<LoopCooler> = {}): LoopCooler => ({
  kind: 'loop',
  blockResistanceKPerW: 0.05,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.09 },
    { dutyPct: 100, resistanceKPerW: 0.045 },
  ],
  plateHeatJPerK: 150,
  coolantHeatJPerK: 3000,
  ...change,
})

/** Modules of an everyday datasheet: V_max 15.4 V, I_max 15 A, ΔT_max 68 K at 300.15 K, worked out with the formulas. */
export const makePlate = (change: Partial<ThermoelectricCooler> = {}): ThermoelectricCooler => ({
  kind: 'thermoelectric',
  modules: 3,
  seebeckVPerK: 15.4 / 300.15,
  resistanceOhm: ((15.4 / 15) * 232.15) / 300.15,
  conductanceWPerK: (15.4 * 15 * 232.15) / (2 * 300.15 * 68),
  driveCurrentA: 9,
  driveWhenOff: true,
  blockResistanceKPerW: 0.03,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.09 },
    { dutyPct: 100, resistanceKPerW: 0.04 },
  ],
  plateHeatJPerK: 150,
  coolantHeatJPerK: 3000,
  ...change,
})

export const makeChilled = (change: Partial<ChilledCooler> = {}): ChilledCooler => ({
  kind: 'chilled',
  coolantC: 12,
  capacityW: 130,
  beyondKPerW: 0.09,
  blockResistanceKPerW: 0.045,
  plateHeatJPerK: 160,
  ...change,
})

/** One ratio for all cores, on the voltage that the part needs. */
export const makeProfile = (change: Partial<Profile> = {}): Profile => ({
  steps: [{ fromCores: 1, toCores: 8, ratio: 50 }],
  bands: [],
  returnK: 0,
  vectorDrop: 0,
  voltage: { kind: 'needs', offsetV: 0, set: [] },
  limits: {},
  drive: { kind: 'full' },
  fan: [],
  ...change,
})

export const makeBoard = (change: Partial<Board> = {}): Board => ({ loadLineOhm: 0, otherPowerW: 50, ...change })

/** What a test changes of a bench; a cooler is taken whole, since its kind decides what it has. */
export interface BenchChange {
  readonly part?: Partial<Part>
  readonly cooler?: Cooler
  readonly profile?: Partial<Profile>
  readonly board?: Partial<Board>
}

export const makeBench = ({ part, cooler, profile, board }: BenchChange = {}): Bench => ({
  part: makePart(part),
  cooler: cooler ?? makeLoop(),
  profile: makeProfile(profile),
  board: makeBoard(board),
})
