/** An invented part and its loop, whose constants the tests know. */

import type { LoopCooler, Part } from '../../server/model/types.ts'
import { makeLoop, makePart } from './make.ts'

export const truePart: Part = makePart({
  cores: 12,
  ratioLow: 8,
  needs: [
    { ratio: 36, voltageV: 0.94 },
    { ratio: 57, voltageV: 1.43 },
  ],
  switchingNf: 2.21,
  leakageW: 19.3,
  leakageAtV: 1.15,
  leakageDoublingK: 27.4,
  leakageExponent: 3.7,
  sharedPowerW: 13.1,
  idlePowerW: 16,
  packageResistanceKPerW: 0.108,
  coreResistanceKPerW: 0.61,
  dieHeatJPerK: 14,
})

export const trueLoop: LoopCooler = makeLoop({
  blockResistanceKPerW: 0.04,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.08 },
    { dutyPct: 100, resistanceKPerW: 0.038 },
  ],
  plateHeatJPerK: 160,
  coolantHeatJPerK: 5200,
})
