import { describe, expect, it } from 'vitest'
import { logBlocks } from '../../../server/bench/likelihood/blocks.ts'
import { logEvidence } from '../../../server/bench/likelihood/log.ts'
import type { LogPoint } from '../../../server/bench/likelihood/log-point.ts'
import { pointEvidence, type SeenPoint } from '../../../server/bench/likelihood/seen-point.ts'
import type { FigureKind } from '../../../server/bench/log/figures.ts'
import { createSeries } from '../../../server/bench/log/series.ts'
import { settle } from '../../../server/model/settle.ts'
import { simulate } from '../../../server/model/transient/simulate.ts'
import type { Bench, Cooler, Drive } from '../../../server/model/types.ts'
import { makeBoard, makeChilled, makePart, makePlate, makeProfile } from '../../harness/make.ts'

/**
 * A log without any noise leaves nothing over at the constants that it was made with: the course of a log, which is driven
 * by what was measured, agrees with the model over time, which is driven by a controller.
 */

const part = makePart({ cores: 8, ratioLow: 8, switchingNf: 2.4, leakageW: 16, sharedPowerW: 12, dieHeatJPerK: 14 })
const corner = { airC: 21, humidityPct: 40 }
const load = { kind: 'work', cores: 8, activity: 1, vector: false } as const

function radiating(coolantHeatJPerK: number) {
  return {
    blockResistanceKPerW: 0.04,
    radiator: [
      { dutyPct: 20, resistanceKPerW: 0.08 },
      { dutyPct: 100, resistanceKPerW: 0.038 },
    ],
    plateHeatJPerK: 160,
    coolantHeatJPerK,
  }
}

type OfKind<C extends Cooler, K> = C extends Cooler ? (K extends C['kind'] ? C : never) : never

/**
 * Every number of every kind, none at a value that counts for nothing: a new kind or a new number does not compile without
 * its line, and a fit that leaves out one of the heat's way is found below. Leads, wiring, the limit of the supply and the
 * lag of the drive are not: what the plate took was read.
 */
const whole: { readonly [K in Cooler['kind']]: Required<OfKind<Cooler, K>> } = {
  loop: { kind: 'loop', ...radiating(3000), ratingW: 300 },
  air: { kind: 'air', ...radiating(400), ratingW: 300 },
  chilled: { ...makeChilled(), ratingW: 300 },
  thermoelectric: {
    ...makePlate({ driveCurrentA: 9 }),
    ...{ kind: 'thermoelectric', constantsAtC: 35, plateLeakWPerK: 0.8, leadsOhm: 0.02 },
    ...{ wiringSeries: 1, wiringParallel: 3, supplyLimitA: 40, driveLagS: 2, ratingW: 300 },
  },
}

type Sensors = readonly ('die' | 'plate' | 'coolant' | 'drive')[]

function logOf(bench: Bench, sensors: Sensors): LogPoint {
  const rest = settle(bench, { kind: 'idle' }, corner)!
  const { series } = simulate(bench, load, corner, { overS: 600, sampleS: 0.5 })!
  const voltageV = 1.15
  const kinds: FigureKind[] = ['clock', 'voltage', 'power', ...sensors]
  const builder = createSeries(kinds)
  const add = (timeS: number, values: Readonly<Record<string, number>>): void =>
    builder.add(
      timeS,
      kinds.map(kind => values[kind] ?? Number.NaN),
    )
  for (let at = 0; at < 60; at++) {
    add(at * 0.5, {
      clock: 0.8,
      voltage: 0.7,
      power: part.idlePowerW,
      die: rest.dieC!,
      plate: rest.plateC!,
      coolant: rest.coolantC ?? corner.airC,
      drive: rest.driveA ?? 0,
    })
  }
  series.timeS.forEach((time, at) => {
    // Nothing has happened yet at the very first.
    if (at === 0) return
    add(30 + time, {
      clock: series.clockMhz[at]! / 1000,
      voltage: voltageV,
      power: series.powerW[at]!,
      die: series.dieC[at]!,
      plate: series.plateC[at]!,
      coolant: series.coolantC[at] ?? Number.NaN,
      drive: series.driveA?.[at] ?? rest.driveA ?? 0,
    })
  })
  return {
    blocks: logBlocks(builder.finish(), 'work'),
    work,
    air: { value: corner.airC, standardUncertainty: 1 },
    fan: bench.profile.fan,
    offsets: { die: 1, plate: 0.5, coolant: 0.5, voltage: 0.005, powerShare: 0.02, driveShare: 0.02 },
    instead: {},
  }
}

const work = { cores: 8, activity: 1, uneven: 1 }

function benchOn(cooler: Cooler, drive: Drive): Bench {
  const profile = makeProfile({
    steps: [{ fromCores: 1, toCores: 8, ratio: 44 }],
    voltage: { kind: 'fixed', voltageV: 1.15 },
    drive,
    fan: [
      { coolantC: 20, dutyPct: 40 },
      { coolantC: 35, dutyPct: 100 },
    ],
  })
  return { part, cooler, board: makeBoard({ loadLineOhm: 0 }), profile }
}

function worstResidual(cooler: Cooler, sensors: Sensors, drive: Drive = { kind: 'off' }) {
  const bench = benchOn(cooler, drive)
  const evidence = logEvidence(logOf(bench, sensors), { cooler, benchAt: () => ({ part, cooler }), unknowns: [] })
  const residuals = new Float64Array(evidence.size)
  expect(evidence.residuals([], residuals)).toBe(true)
  let [kelvins, shares] = [0, 0]
  evidence.rows.forEach(({ sensor, first }, index) => {
    const size = Math.abs(residuals[index]!)
    // Readings are taken at their instants, blocks are means: within the first seconds of the load they differ.
    const isLate = evidence.blocks[first]!.fromS > 33 || evidence.blocks[first]!.toS < 29
    if (sensor === 'power') shares = Math.max(shares, size)
    else if (isLate) kelvins = Math.max(kelvins, size)
  })
  return { kelvins, shares, rows: evidence.size }
}

describe('the course of a log', () => {
  it.each<[string, Cooler, Sensors]>([
    ['a loop, die alone', whole.loop, ['die']],
    ['a loop with plate and coolant', whole.loop, ['die', 'plate', 'coolant']],
    ['an air cooler', whole.air, ['die']],
    ['a chiller beyond its capacity', whole.chilled, ['die']],
    ['a chiller within it, with the plate', { ...whole.chilled, capacityW: 400 }, ['die', 'plate']],
  ])('is that of the model: %s', (_, cooler, sensors) => {
    const { kelvins, shares, rows } = worstResidual(cooler, sensors)
    expect(rows).toBeGreaterThan(20)
    expect(kelvins).toBeLessThan(0.1)
    expect(shares).toBeLessThan(0.003)
  })

  it.each<[string, Sensors, Drive]>([
    ['at a fixed current that was logged', ['die', 'drive'], { kind: 'fixed', currentA: 4 }],
    [
      'at a fixed current, with plate and coolant',
      ['die', 'plate', 'coolant', 'drive'],
      { kind: 'fixed', currentA: 4 },
    ],
    ['held, its current logged', ['die', 'plate', 'coolant', 'drive'], { kind: 'hold', temperatureC: 15 }],
  ])('is that of the model: a driven plate %s', (_, sensors, drive) => {
    const { kelvins, rows } = worstResidual(whole.thermoelectric, sensors, drive)
    expect(rows).toBeGreaterThan(20)
    expect(kelvins).toBeLessThan(0.1)
  })

  it.each(Object.values(whole))('is that of the model from the die down to the air: $kind', cooler => {
    const { kelvins, rows } = worstResidual(cooler, ['die', 'drive'], { kind: 'fixed', currentA: 4 })
    expect(rows).toBeGreaterThan(20)
    expect(kelvins).toBeLessThan(0.1)
  })
})

describe('a point that was seen', () => {
  const read = (value: number): { value: number; standardUncertainty: number } => ({ value, standardUncertainty: 0.1 })

  it.each(Object.values(whole))('leaves nothing over where the model settles: $kind', cooler => {
    const bench = benchOn(cooler, { kind: 'fixed', currentA: 4 })
    const settled = settle(bench, load, corner)!
    const point: SeenPoint = {
      work,
      fan: bench.profile.fan,
      readings: {
        power: read(settled.powerW!),
        clock: read(settled.clockMhz! / 1000),
        voltage: read(settled.voltageV!),
        die: read(settled.dieC!),
        air: read(corner.airC),
        ...(settled.driveA === null ? {} : { drive: read(settled.driveA) }),
      },
    }
    const evidence = pointEvidence(point, cooler, () => ({ part, cooler }), [])
    expect(evidence.kinds).toEqual(['power', 'die'])
    const residuals = new Float64Array(evidence.size)
    expect(evidence.residuals([], residuals)).toBe(true)
    for (const one of residuals) expect(one).toBeCloseTo(0, 6)
  })
})
