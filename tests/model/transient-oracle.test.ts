import { describe, expect, test } from 'vitest'
import type { WorkLoad } from '../../server/model/prepare.ts'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench, Corner } from '../../server/model/types.ts'
import { isWhole } from '../harness/sampled.ts'
import { sampleOf, wantedOf } from '../oracle/generate.ts'
import { plainRun } from '../oracle/plain.ts'
import { allCores, benchWith, fanTable, plateCooler, room } from './transient-bench.ts'

interface Case {
  readonly bench: Bench
  readonly load: WorkLoad
  readonly corner: Corner
}

/** A generated bench with less to heat, so that a short run meets its bands, its limits and its target. */
function quickCase(seed: number): Case | undefined {
  const { bench, load, corner } = sampleOf(seed, wantedOf(seed))
  if (load.kind !== 'work') return undefined
  // A bench that is too hot before it begins has no course.
  if (settle(bench, { kind: 'idle' }, corner)?.state !== 'steady') return undefined
  const heats = bench.cooler.kind === 'chilled' ? { plateHeatJPerK: 20 } : { plateHeatJPerK: 20, coolantHeatJPerK: 60 }
  const limits = { ...bench.profile.limits, sustainedOverS: 3 }
  const cooler = { ...bench.cooler, ...heats } as Bench['cooler']
  return { bench: { ...bench, cooler, profile: { ...bench.profile, limits } }, load, corner }
}

describe('tick by tick against section 10 spelled out', () => {
  const overS = 6
  const seen = new Map<string, number>()
  const compared = { ticks: 0, changes: 0 }

  // Those on which the reference takes longest are for a whole run.
  const slow = [15, 16, 17, 19, 47, 49]
  const seeds = Array.from({ length: 60 }, (_, seed) => seed).filter(seed => isWhole || !slow.includes(seed))

  test.each(seeds)('generated bench %d', seed => {
    const made = quickCase(seed)
    if (made === undefined) return
    const { bench, load, corner } = made
    const run = simulate(bench, load, corner, { overS, sampleS: 0.01 })
    if (run === undefined) return
    const { cap, ticks } = plainRun(bench, load, corner, overS)
    expect(run.endS).toBeCloseTo(ticks.at(-1)?.timeS ?? 0, 9)
    expect(run.series.timeS).toHaveLength(ticks.length + 1)
    const { referenceGhz } = bench.part
    const off = { ratio: 0, powerW: 0, plateC: 0, coolantC: 0, currentA: 0 }
    const note = (name: keyof typeof off, ours: number | undefined, theirs: number): void => {
      off[name] = Math.max(off[name], Math.abs((ours ?? Number.NaN) - theirs))
    }
    ticks.forEach((tick, index) => {
      const at = index + 1
      note('ratio', (run.series.clockMhz[at] as number) / 1000 / referenceGhz, tick.ratio)
      note('powerW', run.series.powerW[at], tick.meanW)
      note('plateC', run.series.plateC[at], tick.plateC)
      note('coolantC', run.series.coolantC[at], tick.coolantC)
      const next = ticks[index + 1]
      if (next === undefined) return
      compared.ticks++
      if (Math.abs(next.ratio - tick.ratio) > 1e-9) compared.changes++
      // The current of a moment holds for the tick that follows it.
      note('currentA', run.series.driveA[at], next.currentA)
    })
    // Every single decision is the same; the rest is the error of the reference's own steps.
    expect(off.ratio).toBeLessThan(1e-9)
    expect(off.powerW).toBeLessThan(1e-4)
    expect(off.plateC).toBeLessThan(5e-6)
    expect(off.coolantC).toBeLessThan(5e-6)
    expect(off.currentA).toBeLessThan(5e-6)

    // Times and means of the whole run, from the reference's ticks alone.
    const dropped = ticks.findIndex(tick => tick.ratio < cap - 1e-9)
    if (dropped < 0) expect(run.firstDropS).toBeNull()
    else expect(run.firstDropS).toBeCloseTo(dropped * 0.01, 9)
    const ceilingC = Math.min(bench.part.dieLimitC, bench.profile.limits.dieC ?? Number.POSITIVE_INFINITY)
    const reached = ticks.find(tick => tick.dieC >= ceilingC)
    if (reached === undefined) expect(run.dieLimitS).toBeNull()
    else expect(run.dieLimitS).toBeCloseTo(reached.timeS, 9)
    let lowest = Number.POSITIVE_INFINITY
    for (let from = 0; from + 100 <= ticks.length; from++) {
      const second = ticks.slice(from, from + 100)
      lowest = Math.min(lowest, second.reduce((sum, tick) => sum + tick.ratio, 0) / 100)
    }
    if (ticks.length >= 100) expect(run.lowestSecondMhz / 1000 / referenceGhz).toBeCloseTo(lowest, 9)
    for (const { kind } of run.events) seen.set(kind, (seen.get(kind) ?? 0) + 1)
  })

  test('met every kind of event, and the ratio changed thousands of times', () => {
    expect(seen.get('band')).toBeGreaterThan(10)
    expect(seen.get('die-limit')).toBeGreaterThan(10)
    expect(seen.get('sustained-power')).toBeGreaterThan(3)
    expect(compared.ticks).toBeGreaterThan(25_000)
    expect(compared.changes).toBeGreaterThan(1000)
  })
})

describe('a plate that runs away', () => {
  // Two modules are too few for this load, and the lowest ratio is too high to save it.
  const bench = benchWith({
    part: { ratioLow: 47, leakageDoublingK: 16 },
    cooler: { ...plateCooler, modules: 2, coolantHeatJPerK: 600 },
    profile: { fan: fanTable },
  })

  test('reaches its die limit, gives ratio back and trips when the reference does', () => {
    expect(settle(bench, allCores, room)?.state).toBe('runaway')
    const run = simulate(bench, allCores, room, { overS: 300 })
    const { cap, ticks } = plainRun(bench, allCores, room, 300)
    const reached = ticks.find(tick => tick.dieC >= 100)?.timeS ?? 0
    const dropped = ticks.findIndex(tick => tick.ratio < cap) * 0.01
    expect(reached).toBeGreaterThan(20)
    expect(run?.dieLimitS).toBeCloseTo(reached, 9)
    expect(run?.firstDropS).toBeCloseTo(dropped, 9)
    // The sensor lags behind the core.
    expect(dropped).toBeGreaterThan(reached)
    expect(run?.tripped).toBe(true)
    expect(run?.endS).toBeGreaterThan(reached + 1)
    expect(run?.endS).toBeCloseTo(ticks.at(-1)?.timeS ?? 0, 9)
    expect(ticks.at(-1)?.dieC).toBeGreaterThanOrEqual(110)
    expect(run?.events.map(event => event.what)).toEqual([
      'die limit reached',
      'ratio given back: die limit',
      'the machine stops: trip at 110 °C',
    ])
  })
})
