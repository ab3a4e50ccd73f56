/** Invented steady stretches of invented runs: what the model gives for known constants, read with noise. */

import { type FitPoint, pointFigures } from '../../server/bench/fit/point-model.ts'
import type { Reading } from '../../server/bench/log/figures.ts'
import { meanOfSeries } from '../../server/bench/statistics/series-mean.ts'
import type { WorkLoad } from '../../server/model/prepare.ts'
import { seededUniform } from '../../server/model/random.ts'
import type { Bench, Cooler, LoopCooler, Part, Profile } from '../../server/model/types.ts'
import { makeBoard, makeLoop, makePart, makeProfile } from './make.ts'
import { seededNormal } from './random.ts'
import type { PartFigureKind } from './synthetic-logs.ts'

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

/** What the bench description says before any run: round values, some well off. */
export const statedPart: Part = {
  ...truePart,
  switchingNf: 2.3,
  leakageW: 18,
  leakageDoublingK: 30,
  leakageExponent: 3.5,
  sharedPowerW: 12,
  packageResistanceKPerW: 0.1,
  coreResistanceKPerW: 0.55,
}

export const trueLoop: LoopCooler = makeLoop({
  blockResistanceKPerW: 0.04,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.08 },
    { dutyPct: 100, resistanceKPerW: 0.038 },
  ],
  plateHeatJPerK: 160,
  coolantHeatJPerK: 5200,
})

const profile = (dutyPct: number): Profile =>
  makeProfile({
    steps: [{ fromCores: 1, toCores: 12, ratio: 50 }],
    drive: { kind: 'off' },
    fan: [{ coolantC: 0, dutyPct }],
  })

/** One steady stretch as it is meant: cores, ratio, voltage, fan duty, air. */
export type Setting = readonly [cores: number, ratio: number, voltageV: number, dutyPct: number, airC: number]

/** An evening's worth of runs that between them tell the constants apart. */
export const settings: readonly Setting[] = [
  [1, 57, 1.43, 100, 12],
  [1, 36, 0.95, 100, 20],
  [1, 50, 1.2, 20, 30],
  [2, 57, 1.42, 20, 30],
  [2, 44, 1.06, 100, 12],
  [4, 55, 1.36, 100, 20],
  [4, 40, 1.0, 20, 30],
  [6, 52, 1.26, 20, 30],
  [6, 52, 1.26, 100, 10],
  [8, 36, 0.94, 100, 20],
  [8, 48, 1.14, 20, 30],
  [8, 52, 1.4, 100, 15],
  [12, 36, 0.94, 20, 30],
  [12, 36, 1.2, 100, 10],
  [12, 44, 1.06, 100, 12],
  [12, 44, 1.06, 20, 30],
  [12, 48, 1.14, 100, 20],
  [12, 48, 1.22, 20, 28],
  [12, 51, 1.24, 100, 10],
  [12, 51, 1.24, 20, 24],
  [12, 40, 1.3, 20, 20],
  [10, 36, 1.3, 100, 12],
  [10, 50, 1.1, 20, 26],
  [4, 36, 1.4, 20, 30],
  [3, 57, 1.43, 100, 10],
  [1, 44, 1.1, 20, 22],
  [8, 40, 1.0, 20, 32],
  [6, 36, 1.42, 100, 18],
]

/** Spread of one reading of each figure, and how much it hangs on the one before. */
const scatter: Readonly<Record<PartFigureKind, number>> = {
  clock: 0.004,
  voltage: 0.0015,
  power: 1.2,
  current: 1,
  die: 0.6,
  plate: 0.3,
  coolant: 0.2,
}
const HANGING = 0.6

export interface PointOptions {
  readonly seed: number
  /** What was logged. */
  readonly figures?: readonly PartFigureKind[]
  /** Readings in each stretch. */
  readonly readings?: number
  /** How badly a run repeats itself, in W and K: the same for all readings of a stretch. */
  readonly repeats?: readonly [powerW: number, temperatureK: number]
  readonly settings?: readonly Setting[]
  readonly part?: Part
  readonly cooler?: Cooler
}

function read(value: number, kind: PartFigureKind, count: number, normal: () => number): Reading {
  const series = new Float64Array(count)
  let before = normal()
  for (let index = 0; index < count; index++) {
    series[index] = value + scatter[kind] * before
    before = HANGING * before + Math.sqrt(1 - HANGING * HANGING) * normal()
  }
  const { mean, standardUncertainty } = meanOfSeries(series)
  return { value: mean, standardUncertainty }
}

/** Stretches read with noise; the same seed gives the same figures. */
export function syntheticPoints(options: PointOptions): readonly (FitPoint & { readonly cooler: string })[] {
  const { seed, figures = ['clock', 'voltage', 'power', 'die'], readings = 120 } = options
  const { part = truePart, cooler = trueLoop } = options
  const normal = seededNormal(seed)
  const uniform = seededUniform(seed + 1_000_003)
  return (options.settings ?? settings).map(([cores, ratio, voltageV, dutyPct, airC], index) => {
    const bench: Bench = { part, cooler, board: makeBoard(), profile: profile(dutyPct) }
    const load: WorkLoad = { kind: 'work', cores, activity: 1, vector: false }
    const air = airC + Math.round(20 * (uniform() - 0.5)) / 10
    const corner = { airC: air, humidityPct: 45 }
    const inputs = { clockGhz: ratio / 10, voltageV, airC: air, plateC: undefined, coolantC: undefined }
    const wanted = { die: { value: 60, standardUncertainty: 0 }, coolant: { value: 30, standardUncertainty: 0 } }
    const run = `run-${index + 1}`
    const exact = pointFigures({ run, bench, load, corner, measured: wanted }, part, cooler, 'predicted', inputs)
    if (exact === undefined) throw new Error(`setting ${index + 1} has no balance`)
    const [powerRepeats, temperatureRepeats] = options.repeats ?? [0.2, 0.15]
    const values: Readonly<Record<PartFigureKind, number>> = {
      clock: ratio / 10,
      voltage: voltageV,
      power: exact.powerW + powerRepeats * normal(),
      current: exact.currentA,
      die: exact.dieC + temperatureRepeats * normal(),
      plate: exact.plateC + temperatureRepeats * normal(),
      coolant: exact.coolantC + temperatureRepeats * normal(),
    }
    const measured = Object.fromEntries(figures.map(kind => [kind, read(values[kind], kind, readings, normal)]))
    return { run, bench: { ...bench, part: statedPart }, load, corner, measured, cooler: 'big-loop' }
  })
}
