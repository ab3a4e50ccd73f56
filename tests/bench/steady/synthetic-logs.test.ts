import { describe, expect, it } from 'vitest'
import { findUnit } from '../../../grammar/units/units.ts'
import type { LogMapping } from '../../../server/bench/log/mapping.ts'
import { type ReadLog, readLog } from '../../../server/bench/log/reader.ts'
import { memoryLogs } from '../../../server/bench/log/source.ts'
import { settle } from '../../../server/model/settle.ts'
import { settledLog } from '../../harness/at-once.ts'
import { headers, type LogOptions, type PartFigureKind, syntheticLog } from '../../harness/synthetic-logs.ts'
import { trueLoop, truePart } from '../../harness/synthetic-points.ts'

/** Full logs of a bench with known constants, from text to what their end reads. */

const profile = {
  steps: [{ fromCores: 1, toCores: 12, ratio: 46 }],
  bands: [],
  returnK: 0,
  vectorDrop: 0,
  voltage: { kind: 'needs', offsetV: 0, set: [] },
  limits: {},
  drive: { kind: 'off' },
  fan: [],
} as const
const bench = { part: truePart, cooler: trueLoop, board: { loadLineOhm: 0, otherPowerW: 50 }, profile }
const load = { kind: 'work', cores: 12, activity: 1, vector: false } as const
const corner = { airC: 22, humidityPct: 45 }
const usual: Omit<LogOptions, 'seed'> = { bench, load, corner, seconds: 1800 }

const unitOf: Readonly<Record<PartFigureKind, string>> = {
  clock: 'MHz',
  voltage: 'V',
  power: 'W',
  current: 'A',
  die: '°C',
  plate: '°C',
  coolant: '°C',
}

const mappingOf = (...kinds: PartFigureKind[]): LogMapping => ({
  columns: [
    { kind: 'time', header: 'elapsed', unit: findUnit('s')! },
    ...kinds.map(kind => ({ kind, header: headers[kind], unit: findUnit(unitOf[kind])! })),
  ],
})

async function read(text: string, mapping = mappingOf('clock', 'voltage', 'power', 'die')): Promise<ReadLog> {
  return (await readLog(memoryLogs({ log: text }), 'log', mapping)) as ReadLog
}

const settled = settle(bench, load, corner)!

describe('an invented log', () => {
  it('is the same for the same seed', () => {
    expect(syntheticLog({ ...usual, seed: 1, seconds: 60 })).toBe(syntheticLog({ ...usual, seed: 1, seconds: 60 }))
    expect(syntheticLog({ ...usual, seed: 1, seconds: 60 })).not.toBe(syntheticLog({ ...usual, seed: 2, seconds: 60 }))
  })

  it('ends at what the bench settles at, most often within two standard uncertainties', async () => {
    const rounds = 20
    let covered = 0
    for (let seed = 1; seed <= rounds; seed++) {
      const log = await read(syntheticLog({ ...usual, seed }))
      const { figures, fromS } = settledLog(log.series, 'work', undefined)!
      expect(fromS).toBeGreaterThan(58)
      for (const [kind, truth] of [
        ['power', settled.powerW!],
        ['die', settled.dieC!],
      ] as const) {
        const { value, standardUncertainty } = figures[kind]!
        // Means of the last third: half a kelvin and half a percent may be missing.
        if (Math.abs(value - truth) < 1.96 * standardUncertainty + (kind === 'die' ? 0.3 : 0.5)) covered++
      }
    }
    expect(covered / (2 * rounds)).toBeGreaterThan(0.8)
  })

  it('of a runaway ends at the trip', async () => {
    const part = { ...truePart, leakageW: 80, leakageDoublingK: 14, dieLimitC: 100, tripC: 110, ratioLow: 46 }
    const hot = { ...bench, part }
    expect(settle(hot, load, { ...corner, airC: 40 })!.state).toMatch(/runaway|over-limit/)
    const text = syntheticLog({ ...usual, bench: hot, corner: { ...corner, airC: 40 }, seed: 5 })
    const log = await read(text)
    expect(log.series.timeS.at(-1)).toBeLessThan(1000)
    expect(log.series.figures.die!.at(-1)).toBeGreaterThan(105)
  })

  it('without a column has the others', async () => {
    const text = syntheticLog({ ...usual, seed: 6, columns: ['clock', 'power', 'die'] })
    const log = await read(text)
    expect(log.missingColumns).toEqual([{ kind: 'voltage', header: 'die voltage' }])
    expect(Object.keys(settledLog(log.series, 'work', undefined)!.figures)).toEqual(['clock', 'power', 'die'])
  })

  it('with mishaps loses what they cost', async () => {
    const text = syntheticLog({
      ...usual,
      seed: 7,
      seconds: 600,
      mishaps: { 100: 'cut', 200: 'garbled', 300: 'blank', 400: 'header', 500: 'gap' },
    })
    expect(await read(text)).toMatchObject({
      rows: 658,
      malformed: { count: 2 },
      empty: { die: 1 },
      repeatedHeaders: 1,
      gapCount: 1,
    })
  })

  it('of a machine at rest reads the power at rest', async () => {
    const text = syntheticLog({ ...usual, seed: 8, seconds: 120, restS: 900 })
    expect(settledLog((await read(text)).series, 'idle', undefined)!.figures.power!.value).toBeCloseTo(
      truePart.idlePowerW,
      0,
    )
  })
})
