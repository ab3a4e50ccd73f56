import { describe, expect, it } from 'vitest'
import { logBlocks } from '../../../server/bench/likelihood/blocks.ts'
import { logEvidence } from '../../../server/bench/likelihood/log.ts'
import type { LogPoint } from '../../../server/bench/likelihood/log-point.ts'
import type { FigureKind } from '../../../server/bench/log/figures.ts'
import { createSeries } from '../../../server/bench/log/series.ts'
import { settle } from '../../../server/model/settle.ts'
import { simulate } from '../../../server/model/transient/simulate.ts'
import type { Bench, Cooler, Drive } from '../../../server/model/types.ts'
import { makeBoard, makeLoop, makePart, makePlate, makeProfile } from '../../harness/make.ts'

/**
 * A log without any noise leaves nothing over at the constants that it was made with: the course of a log, which is driven
 * by what was measured, agrees with the model over time, which is driven by a controller.
 */

const part = makePart({ cores: 8, ratioLow: 8, switchingNf: 2.4, leakageW: 16, sharedPowerW: 12, dieHeatJPerK: 14 })
const corner = { airC: 21, humidityPct: 40 }
const load = { kind: 'work', cores: 8, activity: 1, vector: false } as const

const chilled: Cooler = {
  kind: 'chilled',
  coolantC: 12,
  capacityW: 130,
  beyondKPerW: 0.09,
  blockResistanceKPerW: 0.045,
  plateHeatJPerK: 160,
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
    work: { cores: 8, activity: 1, uneven: 1 },
    air: { value: corner.airC, standardUncertainty: 1 },
    fan: bench.profile.fan,
    offsets: { die: 1, plate: 0.5, coolant: 0.5, voltage: 0.005, powerShare: 0.02, driveShare: 0.02 },
    instead: {},
  }
}

function worstResidual(cooler: Cooler, sensors: Sensors, drive: Drive = { kind: 'off' }) {
  const profile = makeProfile({
    steps: [{ fromCores: 1, toCores: 8, ratio: 44 }],
    voltage: { kind: 'fixed', voltageV: 1.15 },
    drive,
    fan: [
      { coolantC: 20, dutyPct: 40 },
      { coolantC: 35, dutyPct: 100 },
    ],
  })
  const bench: Bench = { part, cooler, board: makeBoard({ loadLineOhm: 0 }), profile }
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

const loop = makeLoop({
  blockResistanceKPerW: 0.04,
  radiator: [
    { dutyPct: 20, resistanceKPerW: 0.08 },
    { dutyPct: 100, resistanceKPerW: 0.038 },
  ],
  plateHeatJPerK: 160,
  coolantHeatJPerK: 3000,
})

describe('the course of a log', () => {
  it.each<[string, Cooler, Sensors]>([
    ['a loop, die alone', loop, ['die']],
    ['a loop with plate and coolant', loop, ['die', 'plate', 'coolant']],
    ['an air cooler', { ...loop, kind: 'air', coolantHeatJPerK: 400 }, ['die']],
    ['a chiller beyond its capacity', chilled, ['die']],
    ['a chiller within it, with the plate', { ...chilled, capacityW: 400 }, ['die', 'plate']],
  ])('is that of the model: %s', (_, cooler, sensors) => {
    const { kelvins, shares, rows } = worstResidual(cooler, sensors)
    expect(rows).toBeGreaterThan(20)
    expect(kelvins).toBeLessThan(0.3)
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
    const { kelvins, rows } = worstResidual(makePlate(), sensors, drive)
    expect(rows).toBeGreaterThan(20)
    expect(kelvins).toBeLessThan(0.4)
  })
})
