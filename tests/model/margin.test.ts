import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lowestRoot } from '../../server/model/balance.ts'
import { prepareBench, prepareCorner, prepareLoad, type WorkLoad } from '../../server/model/prepare.ts'
import { ratioSource } from '../../server/model/ratio-source.ts'
import { settle } from '../../server/model/settle.ts'
import { constantSource, mixedSource } from '../../server/model/source.ts'
import type { Bench, Corner, Load, Settled } from '../../server/model/types.ts'
import { benches, benchWith, corner, corners, loop, plate, work } from './benches.ts'

function settled(bench: Bench, load: Load = work, where: Corner = corner): Settled {
  const found = settle(bench, load, where)
  if (found === null) throw new Error('A step row covers every load of this file.')
  return found
}

/** The lowest balance with extra heat at the ratios and shares that a prediction holds. */
function heatedC(bench: Bench, where: Corner, held: Settled, extraW: number): number {
  const prepared = prepareBench(bench)
  const loaded = prepareLoad(prepared, work as WorkLoad)
  const at = (ratio: number | null) => ratioSource(prepared, loaded, [ratio ?? Number.NaN]).source
  const source = mixedSource(at(held.ratioHigh), at(held.ratioLow), held.shareHigh ?? 1)
  return lowestRoot(source, prepareCorner(prepared, where).curve, extraW)
}

describe('margin by hand', () => {
  it('is the heat that brings an idle die to its ceiling', () => {
    const idle = settled(benchWith(), { kind: 'idle' })
    // 25 °C + (0.05 + 0.045 + 0.1) K/W · Q = 100 °C.
    expect(idle.marginW).toBeCloseTo(75 / 0.195 - 9, 9)
    const off = settled(benchWith(), { kind: 'off' })
    expect(off.marginW).toBeCloseTo(75 / 0.195, 9)
  })

  it('counts the leakage at the ceiling', () => {
    const steady = settled(benchWith())
    const dynamicW = 8 * 2 * 1.2 * 1.2 * 5
    const leakageW = 16 * 2 ** ((100 - 60) / 28)
    const heatW = (100 - 25 - (0.5 / 8) * dynamicW) / 0.195
    expect(steady.marginW).toBeCloseTo(heatW - dynamicW - leakageW - 14, 9)
  })

  it('ends at the runaway where that lies below the ceiling', () => {
    const bench = benchWith({ part: { leakageW: 25, leakageDoublingK: 12, dieLimitC: 120 } })
    const steady = settled(bench)
    const more = settled(benchWith({ part: { ...bench.part, sharedPowerW: 14 + (steady.marginW ?? 0) - 1e-6 } }))
    expect(more.state).toBe('steady')
    // At the edge dRHS/dT is 1, far below the ceiling.
    expect(more.notes.slope).toBeGreaterThan(0.99)
    expect(more.dieC).toBeLessThan(100)
    const beyond = benchWith({ part: { ...bench.part, ratioLow: 50, sharedPowerW: 14 + (steady.marginW ?? 0) + 1e-6 } })
    expect(settled(beyond).state).toBe('runaway')
  })

  it('is found on a plate that runs into its die limit behind a load line', () => {
    // A plate of one weak module: the balances that the margin is about lie where its current is at its limit.
    const cooler = {
      ...plate,
      modules: 1,
      seebeckVPerK: 0.056,
      resistanceOhm: 0.7,
      conductanceWPerK: 0.65,
      driveCurrentA: 0.5,
      blockResistanceKPerW: 0.01,
      radiator: [{ dutyPct: 25, resistanceKPerW: 0.34 }],
    }
    const bench = benchWith({
      part: { switchingNf: 3, leakageW: 13.6, leakageDoublingK: 12, leakageExponent: 4, packageResistanceKPerW: 0.19 },
      cooler,
      profile: { drive: { kind: 'hold', temperatureC: 0 } },
      board: { loadLineOhm: 0.0009 },
    })
    const where = { airC: 35, humidityPct: 25 }
    const held = settled(bench, work, where)
    expect(held.state).toBe('over-limit')
    const margin = held.marginW ?? Number.NaN
    expect(margin).toBeLessThan(-10)
    expect(heatedC(bench, where, held, margin - 1e-4)).toBeLessThan(100)
    expect(heatedC(bench, where, held, margin + 1e-4)).toBeGreaterThan(100)
  })

  it('takes away at most the heat there is', () => {
    const hopeless = settled(benchWith({ profile: { limits: { dieC: 20 } } }), { kind: 'idle' })
    expect(hopeless.state).toBe('over-limit')
    expect(hopeless.marginW).toBe(-9)
  })
})

describe('margin on any bench', () => {
  it('is the largest extra heat with a balance at or below the ceiling', () => {
    let judged = 0
    fc.assert(
      fc.property(benches, corners, (bench, where) => {
        const held = settled(bench, work, where)
        const { marginW, powerW } = held
        if (marginW === null || powerW === null || held.state === 'throttled') return
        judged++
        const slackW = 1e-6 * (1 + Math.abs(marginW))
        expect(marginW).toBeGreaterThanOrEqual(-powerW)
        if (marginW > -powerW) expect(heatedC(bench, where, held, marginW - slackW)).toBeLessThanOrEqual(100 + 1e-6)
        expect(heatedC(bench, where, held, marginW + slackW)).toBeGreaterThan(100)
        if (held.state !== 'over-limit') expect(marginW).toBeGreaterThanOrEqual(0)
      }),
      { numRuns: 300 },
    )
    expect(judged).toBeGreaterThan(150)
  })

  it('of idle is served by every cooler', () => {
    for (const cooler of [loop, plate]) {
      const bench = benchWith({ cooler, profile: { drive: { kind: 'dew', marginK: 2 } } })
      const idle = settled(bench, { kind: 'idle' })
      const { curve } = prepareCorner(prepareBench(bench), corner)
      const source = constantSource(9, 0.1)
      expect(lowestRoot(source, curve, idle.marginW ?? 0)).toBeCloseTo(100, 7)
    }
  })
})
