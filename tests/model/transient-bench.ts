/** An invented bench for tests of runs over time. */

import type { WorkLoad } from '../../server/model/prepare.ts'
import type { Bench, Corner, LoopCooler, ThermoelectricCooler } from '../../server/model/types.ts'
import { type BenchChange, makeBench, makeLoop, makePart, makePlate } from '../harness/make.ts'

const part = makePart({
  cores: 10,
  ratioLow: 8,
  needs: [
    { ratio: 36, voltageV: 1.0 },
    { ratio: 44, voltageV: 1.12 },
    { ratio: 50, voltageV: 1.27 },
  ],
  switchingNf: 2.4,
  leakageW: 18,
  leakageAtV: 1.1,
  sharedPowerW: 12,
  idlePowerW: 10,
  coreResistanceKPerW: 0.4,
})

export const loopCooler: LoopCooler = makeLoop({ blockResistanceKPerW: 0.04 })

export const plateCooler: ThermoelectricCooler = makePlate({
  seebeckVPerK: 0.0513,
  resistanceOhm: 0.794,
  conductanceWPerK: 1.31,
  driveCurrentA: 7,
  driveWhenOff: false,
})

/** A plate with all that a real one has. */
export const realPlate: ThermoelectricCooler = {
  ...plateCooler,
  constantsAtC: -7,
  plateLeakWPerK: 0.6,
  modules: 4,
  wiringSeries: 2,
  wiringParallel: 2,
  leadsOhm: 0.02,
}

export const fanTable = [
  { coolantC: 24, dutyPct: 25 },
  { coolantC: 34, dutyPct: 55 },
  { coolantC: 48, dutyPct: 100 },
]

export const allCores: WorkLoad = { kind: 'work', cores: 10, activity: 1, vector: false }
export const room: Corner = { airC: 22, humidityPct: 45 }

export function benchWith(changes: BenchChange = {}): Bench {
  return makeBench({
    ...changes,
    part: { ...part, ...changes.part },
    cooler: changes.cooler ?? loopCooler,
    profile: { steps: [{ fromCores: 1, toCores: 10, ratio: 49 }], ...changes.profile },
  })
}
