import { describe, expect, test } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench } from '../../server/model/types.ts'
import { makeChilled } from '../harness/make.ts'
import { coreAtPlain, ratesPlain } from '../oracle/plain.ts'
import { allCores, benchWith, fanTable, loopCooler, plateCooler, room } from './transient-bench.ts'
import { solveByOdex } from './transient-odex.ts'

/** Section 10's equations at one held ratio and current by the package `odex`, from the run's own start. */
function byOdex(bench: Bench, currentA: number, start: number[], overS: number) {
  const ratio = 49
  const y = solveByOdex(
    ([die = 0, plate = 0, coolant = 0, sensed = 0]) => {
      const at = ratesPlain(bench, allCores, room, ratio, { i: currentA, duty: 1 }, { die, plate, coolant, sensed })
      return [at.die, at.plate, at.coolant, at.sensed, at.powerW]
    },
    [...start, 0],
    overS,
    1e-10,
  )
  const [die = 0, plate = 0, coolant = 0, , energyJ = 0] = y
  return { hottestC: coreAtPlain(bench, allCores, ratio, die).hottestC, plate, coolant, energyJ }
}

describe('the network at a held ratio against an independent integration', () => {
  const free = { dieLimitC: 200, tripC: 210 }
  const chilled = makeChilled({
    coolantC: 10,
    beyondKPerW: 0.09,
    blockResistanceKPerW: 0.045,
    plateHeatJPerK: 160,
  })
  test.each<[string, Bench, number]>([
    ['loop at full duty', benchWith({ part: free }), 0],
    ['loop under a fan table', benchWith({ part: free, profile: { fan: fanTable } }), 0],
    [
      'loop under a fan table, behind a load line',
      benchWith({ part: { ...free, leakageExponent: 3.5 }, profile: { fan: fanTable }, board: { loadLineOhm: 4e-4 } }),
      0,
    ],
    ['a bare die that holds almost no heat', benchWith({ part: { ...free, dieHeatJPerK: 0.05 } }), 0],
    ['air', benchWith({ part: free, cooler: { ...loopCooler, kind: 'air', coolantHeatJPerK: 400 } }), 0],
    ['chilled within its capacity', benchWith({ part: free, cooler: { ...chilled, capacityW: 400 } }), 0],
    ['chilled beyond its capacity', benchWith({ part: free, cooler: { ...chilled, capacityW: 120 } }), 0],
    ['plate at full drive', benchWith({ part: free, cooler: plateCooler, profile: { fan: fanTable } }), 7],
    [
      'plate without drive',
      benchWith({
        part: { ...free, switchingNf: 0.8 },
        cooler: plateCooler,
        profile: { fan: fanTable, drive: { kind: 'off' } },
      }),
      0,
    ],
  ])('%s', (_name, bench, currentA) => {
    const run = simulate(bench, allCores, room, { overS: 300, sampleS: 1 })
    expect(run?.firstDropS).toBeNull()
    const series = run?.series
    // At the start the die is at idle: the first sample's core temperature includes the load's own rise.
    const idle = simulate({ ...bench }, { ...allCores, activity: 0 }, room, { overS: 0.01 })?.series
    const startDie = idle?.dieC[0] as number
    const start = [startDie, idle?.plateC[0] as number, idle?.coolantC[0] as number, startDie]
    let energyJ = 0
    let before = 0
    for (const seconds of [1, 10, 60, 300]) {
      for (let at = before + 1; at <= seconds; at++) energyJ += series?.powerW[at] as number
      before = seconds
      const theirs = byOdex(bench, currentA, start, seconds)
      expect(series?.timeS[seconds]).toBeCloseTo(seconds, 9)
      expect(Math.abs((series?.dieC[seconds] as number) - theirs.hottestC)).toBeLessThan(2e-6)
      expect(Math.abs((series?.plateC[seconds] as number) - theirs.plate)).toBeLessThan(2e-6)
      expect(Math.abs(energyJ / theirs.energyJ - 1)).toBeLessThan(1e-7)
      // A chilled coolant is no state of its own.
      if (bench.cooler.kind !== 'chilled')
        expect(Math.abs((series?.coolantC[seconds] as number) - theirs.coolant)).toBeLessThan(2e-6)
      expect(series?.driveA[seconds]).toBe(currentA)
    }
  })
})

test('a block without resistance makes a run stiff, not wrong', () => {
  const bench = benchWith({ cooler: { ...loopCooler, blockResistanceKPerW: 0, coolantHeatJPerK: 300 } })
  const run = simulate(bench, allCores, room, { overS: 600 })
  expect(run?.late?.dieC).toBeCloseTo(settle(bench, allCores, room)?.dieC ?? 0, 3)
})
