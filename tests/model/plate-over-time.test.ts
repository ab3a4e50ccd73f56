import { describe, expect, test } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Drive, ThermoelectricCooler } from '../../server/model/types.ts'
import { allCores, benchWith, fanTable, realPlate, room } from './transient-bench.ts'

/** It stores little heat, so that it comes to rest soon. */
const cooler: ThermoelectricCooler = { ...realPlate, supplyLimitA: 11, coolantHeatJPerK: 200, plateHeatJPerK: 60 }

const drives: readonly (readonly [string, Drive])[] = [
  ['full', { kind: 'full' }],
  ['fixed', { kind: 'fixed', currentA: 3.3 }],
  ['supply', { kind: 'supply', voltageV: 8 }],
  ['supply at its limit', { kind: 'supply', voltageV: 20 }],
  ['pulsed', { kind: 'pulsed', dutyShare: 0.55 }],
  ['off', { kind: 'off' }],
  ['hold', { kind: 'hold', temperatureC: 32 }],
  ['hold beyond what it reaches', { kind: 'hold', temperatureC: 2 }],
]

describe('a real plate over time', () => {
  test.each(drives)('%s: ends where it settles', (_name, drive) => {
    const bench = benchWith({ cooler, profile: { drive, fan: fanTable } })
    const load = { ...allCores, cores: 6 }
    const settled = settle(bench, load, room)
    expect(settled?.state).toBe('steady')
    const run = simulate(bench, load, room, { overS: 1200, sampleS: 1200 })
    const last = (values: readonly number[] | undefined): number => values?.at(-1) ?? Number.NaN
    expect(Math.abs(last(run?.series.dieC) - (settled?.dieC ?? 0))).toBeLessThan(1e-4)
    expect(Math.abs(last(run?.series.plateC) - (settled?.plateC ?? 0))).toBeLessThan(1e-4)
    expect(Math.abs(last(run?.series.coolantC) - (settled?.coolantC ?? 0))).toBeLessThan(1e-4)
    expect(Math.abs(last(run?.series.driveA) - (settled?.driveA ?? 0))).toBeLessThan(1e-4)
  })

  test('a supply follows the plate: more current while the sides are alike, less once they are apart', () => {
    const bench = benchWith({ cooler, profile: { drive: { kind: 'supply', voltageV: 8 }, fan: fanTable } })
    const run = simulate(bench, allCores, room, { overS: 60 })
    const idle = settle(bench, { kind: 'idle' }, room)
    const settled = settle(bench, allCores, room)
    expect(run?.series.driveA[0]).toBeCloseTo(idle?.driveA ?? 0, 6)
    expect(settled?.driveA).toBeGreaterThan((idle?.driveA ?? 0) + 0.1)
    const { driveA } = run?.series ?? { driveA: [] }
    for (let index = 1; index < driveA.length; index++) {
      expect(driveA[index]).toBeGreaterThan((driveA[index - 1] as number) - 0.05)
    }
  })
})
