import { describe, expect, it } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench, Load } from '../../server/model/types.ts'
import { benchWith, corner, part, work } from './benches.ts'

type WorkLoad = Extract<Load, { kind: 'work' }>

const even = work as WorkLoad
const uneven: WorkLoad = { ...even, uneven: 1.4 }

/** The same bench with cores that warm 1.4 times as much each: under an even load what an uneven load is here. */
const warmer = (bench: Bench): Bench => ({
  ...bench,
  part: { ...bench.part, coreResistanceKPerW: bench.part.coreResistanceKPerW * 1.4 },
})

const benches: readonly (readonly [string, Bench])[] = [
  ['at rest', benchWith()],
  ['behind a load line', benchWith({ board: { loadLineOhm: 0.0005 } })],
  ['at its die limit', benchWith({ profile: { limits: { dieC: 66 } } })],
  ['under a sustained power', benchWith({ profile: { limits: { sustainedPowerW: 150, sustainedOverS: 5 } } })],
]

describe('an uneven load', () => {
  it('has its hottest core at u times the rise of the mean core', () => {
    const settled = settle(benchWith(), uneven, corner)
    const dieC =
      25 +
      (0.05 + 0.045 + 0.1) * (settled?.powerW ?? 0) +
      ((part.coreResistanceKPerW * 1.4) / 8) * (settled?.dynamicW ?? 0)
    expect(settled?.dieC).toBeCloseTo(dieC, 9)
    expect(settled?.dieC).toBeGreaterThan((settle(benchWith(), even, corner)?.dieC ?? 0) + 3)
  })

  it.each(benches)('%s: clock, temperatures and margin are those of cores that warm as much each', (_name, bench) => {
    const expected = settle(warmer(bench), even, corner)
    expect(settle(bench, uneven, corner)).toEqual(expected)
    expect(settle(bench, { ...even, uneven: 1 }, corner)).toEqual(settle(bench, even, corner))
    expect(settle(bench, even, corner)?.marginW).not.toBe(expected?.marginW)
  })

  it.each(benches)('%s: the same over time', (_name, bench) => {
    const run = simulate(bench, uneven, corner, { overS: 30 })
    expect(run).toEqual(simulate(warmer(bench), even, corner, { overS: 30 }))
    expect(run?.late?.dieC).not.toBe(simulate(bench, even, corner, { overS: 30 })?.late?.dieC)
  })
})
