/** An invented bench to vary, and arbitrary ones for properties. */

import fc from 'fast-check'
import type {
  Bench,
  Board,
  Cooler,
  Corner,
  Drive,
  FanPoint,
  Load,
  LoopCooler,
  Part,
  Profile,
  RadiatorPoint,
  ThermoelectricCooler,
} from '../../server/model/types.ts'
import {
  type BenchChange,
  makeBench,
  makeBoard,
  makeChilled,
  makeLoop,
  makePart,
  makePlate,
  makeProfile,
} from '../harness/make.ts'

export const part: Part = makePart({ needsSlopeVPerK: 0.0004, vectorNeedsV: 0.03 })
export const loop: LoopCooler = makeLoop()
export const plate: ThermoelectricCooler = makePlate()
export const profile: Profile = makeProfile()
export const board: Board = makeBoard()
export const corner: Corner = { airC: 25, humidityPct: 50 }
export const work: Load = { kind: 'work', cores: 8, activity: 1, vector: false }
export const risingFan: readonly FanPoint[] = [
  { coolantC: 26, dutyPct: 25 },
  { coolantC: 34, dutyPct: 55 },
  { coolantC: 48, dutyPct: 100 },
]

export type Change = BenchChange

export function benchWith(change: Change = {}): Bench {
  return makeBench({ ...change, part: { ...part, ...change.part } })
}

const between = (min: number, max: number) => fc.double({ min, max, noNaN: true })

const radiator: fc.Arbitrary<readonly RadiatorPoint[]> = fc.oneof(
  between(0.02, 0.15).map(resistanceKPerW => [{ dutyPct: 100, resistanceKPerW }]),
  fc.tuple(between(0.02, 0.1), between(1.05, 4)).map(([low, factor]) => [
    { dutyPct: 20, resistanceKPerW: low * factor },
    { dutyPct: 100, resistanceKPerW: low },
  ]),
)

const loops: fc.Arbitrary<Cooler> = fc.record({ radiator, block: between(0.01, 0.08) }).map(made => ({
  ...loop,
  radiator: made.radiator,
  blockResistanceKPerW: made.block,
}))

const chilled: fc.Arbitrary<Cooler> = fc
  .record({
    coolantC: between(0, 25),
    capacityW: between(50, 300),
    beyondKPerW: between(0, 0.3),
    block: between(0.01, 0.1),
  })
  .map(({ block, ...made }) => makeChilled({ ...made, blockResistanceKPerW: block, plateHeatJPerK: 150 }))

export const plates: fc.Arbitrary<ThermoelectricCooler> = fc
  .record({
    modules: fc.integer({ min: 1, max: 5 }),
    seebeckVPerK: between(0.03, 0.07),
    resistanceOhm: between(0.5, 2),
    conductanceWPerK: between(0.5, 2),
    driveCurrentA: between(0.5, 14),
    block: between(0.01, 0.06),
    radiator,
  })
  .map(({ block, ...made }) => ({ ...plate, ...made, blockResistanceKPerW: block }))

/** A new kind does not compile without its line. */
const byKind: Readonly<Record<Cooler['kind'], fc.Arbitrary<Cooler>>> = {
  loop: loops,
  // Fins under a fan differ from a loop in their heat capacity alone.
  air: loops.map(made => ({ ...made, kind: 'air' }) as Cooler),
  chilled,
  thermoelectric: plates,
}

export const coolers: fc.Arbitrary<Cooler> = fc.oneof(...Object.values(byKind))

export const drives: fc.Arbitrary<Drive> = fc.oneof(
  fc.constant<Drive>({ kind: 'full' }),
  fc.constant<Drive>({ kind: 'off' }),
  between(0, 5).map((marginK): Drive => ({ kind: 'dew', marginK })),
  between(0, 40).map((temperatureC): Drive => ({ kind: 'hold', temperatureC })),
)

/** Rising tables, and now and then one that falls on the way. */
export const fans: fc.Arbitrary<readonly FanPoint[]> = fc.oneof(
  fc.constant<readonly FanPoint[]>([]),
  fc
    .tuple(between(15, 35), fc.array(fc.tuple(between(1, 15), between(-10, 50)), { minLength: 1, maxLength: 4 }))
    .map(([startC, steps]) => {
      let coolantC = startC
      let dutyPct = 25
      return [
        { coolantC, dutyPct },
        ...steps.map(([wider, more]) => {
          coolantC += wider
          dutyPct = Math.min(100, Math.max(5, dutyPct + more))
          return { coolantC, dutyPct }
        }),
      ]
    }),
)

export const corners: fc.Arbitrary<Corner> = fc.record({ airC: between(8, 35), humidityPct: between(10, 90) })

/** Benches with every cooler, drive and fan table, with and without load line and bands. */
export const benches: fc.Arbitrary<Bench> = fc
  .record({
    cooler: coolers,
    drive: drives,
    fan: fans,
    loadLineOhm: fc.oneof(fc.constant(0), between(0.0001, 0.002)),
    leakageW: between(2, 60),
    leakageDoublingK: between(12, 40),
    leakageExponent: between(1.2, 4.5),
    switchingNf: between(1, 3),
    packageResistanceKPerW: between(0.05, 0.2),
    returnK: fc.oneof(fc.constant(0), between(0, 8)),
    bands: fc.array(
      fc.tuple(between(35, 90), fc.integer({ min: 1, max: 8 })).map(([aboveC, drop]) => ({
        fromCores: 1,
        toCores: 8,
        aboveC,
        drop,
      })),
      { maxLength: 3 },
    ),
  })
  .map(made => ({
    part: {
      ...part,
      leakageW: made.leakageW,
      leakageDoublingK: made.leakageDoublingK,
      leakageExponent: made.leakageExponent,
      switchingNf: made.switchingNf,
      packageResistanceKPerW: made.packageResistanceKPerW,
    },
    cooler: made.cooler,
    profile: { ...profile, drive: made.drive, fan: made.fan, bands: made.bands, returnK: made.returnK },
    board: { ...board, loadLineOhm: made.loadLineOhm },
  }))
