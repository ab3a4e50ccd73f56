import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { coldStartC, highestRootBelow, lowestRoot, rhsC, rhsSlope } from '../../server/model/balance.ts'
import type { PlateCurve } from '../../server/model/cooler/curve.ts'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import { prepareBench, prepareCorner, prepareLoad, type WorkLoad } from '../../server/model/prepare.ts'
import { ratioSource } from '../../server/model/ratio-source.ts'
import { emptyHeat, growthPerK, type HeatSource, heatOf } from '../../server/model/source.ts'
import type { Bench, Corner } from '../../server/model/types.ts'
import { benches, benchWith, corners, loop, plate, risingFan, work } from './benches.ts'

/** P(T) = steady + leakage · 2^((T − 25)/doubling) over `resistance`, half of it package and half cooler. */
function runawayCase(steadyW: number, leakageW: number, doublingK: number, resistance: number, airC: number) {
  const cooler = { ...loop, blockResistanceKPerW: 0, radiator: [{ dutyPct: 100, resistanceKPerW: resistance / 2 }] }
  const source: HeatSource = {
    baseW: steadyW,
    leakageW,
    leakageAtC: 25,
    growthPerK: growthPerK(doublingK),
    hotBaseW: 0,
    packageKPerW: resistance / 2,
    coreKPerW: 0,
    droop: [],
    least: [],
  }
  const curve = prepareCurve(cooler, { drive: { kind: 'full' }, fan: [] }, { airC, humidityPct: 50 })
  return { source, curve }
}

/** A load at its step's ratio on a bench in a corner. */
function running(bench: Bench, corner: Corner, ratio = 50): { source: HeatSource; curve: PlateCurve } {
  const prepared = prepareBench(bench)
  const loaded = prepareLoad(prepared, work as WorkLoad)
  return { source: ratioSource(prepared, loaded, [ratio]).source, curve: prepareCorner(prepared, corner).curve }
}

describe('exact balances of an exponential leakage (Lambert W, 30-digit arithmetic)', () => {
  it('100 W and 20 W at 25 °C doubling every 25 K over 0.2 K/W', () => {
    const { source, curve } = runawayCase(100, 20, 25, 0.2, 25)
    const stableC = lowestRoot(source, curve, 0)
    expect(stableC).toBeCloseTo(53.9179983605, 9)
    const heat = emptyHeat()
    heatOf(source, stableC, heat)
    expect(heat.powerW).toBeCloseTo(144.589991802, 8)
    expect(rhsSlope(source, curve, 0, stableC)).toBeCloseTo(0.24725942, 8)
    expect(rhsC(source, curve, 0, 138.78034018)).toBeCloseTo(138.78034018, 7)
    expect(highestRootBelow(source, curve, 0, 100, 20)).toBeCloseTo(53.9179983605, 9)
    expect(highestRootBelow(source, curve, 0, 100, 60)).toBe(Number.NEGATIVE_INFINITY)
  })

  it.each([
    [100, 20, 10, 0.2, 9.07999426943],
    [50, 5, 10, 1, -24.1392866794],
  ])(
    '%d W and %d W doubling every %d K over %d K/W run away at 25 °C, not below their edge',
    (steadyW, leakageW, doublingK, resistance, edgeC) => {
      const warm = runawayCase(steadyW, leakageW, doublingK, resistance, 25)
      expect(lowestRoot(warm.source, warm.curve, 0)).toBe(Number.POSITIVE_INFINITY)
      const cool = runawayCase(steadyW, leakageW, doublingK, resistance, edgeC - 0.01)
      expect(lowestRoot(cool.source, cool.curve, 0)).toBeLessThan(200)
    },
  )

  it('tells two balances half a millikelvin apart from none', () => {
    const edgeC = 48.2481880458
    const tangentC = 104.315564068
    const scaleK = 25 / Math.LN2
    for (const belowK of [1e-3, 1e-6, 1e-9]) {
      const { source, curve } = runawayCase(100, 20, 25, 0.2, edgeC - belowK)
      // Near the edge the two balances lie √(2 λ δ) to either side of where they meet.
      expect(lowestRoot(source, curve, 0)).toBeCloseTo(tangentC - Math.sqrt(2 * scaleK * belowK), belowK > 1e-5 ? 2 : 4)
    }
    const beyond = runawayCase(100, 20, 25, 0.2, edgeC + 1e-9)
    expect(lowestRoot(beyond.source, beyond.curve, 0)).toBe(Number.POSITIVE_INFINITY)
  })
})

const spreads: readonly (readonly [string, Bench])[] = [
  ['a load line', benchWith({ board: { loadLineOhm: 0.0006 }, part: { leakageW: 60, leakageDoublingK: 18 } })],
  ['a fan table', benchWith({ profile: { fan: risingFan }, part: { leakageW: 60, leakageDoublingK: 18 } })],
  [
    'both',
    benchWith({
      profile: { fan: risingFan },
      board: { loadLineOhm: 0.0006 },
      part: { leakageW: 60, leakageDoublingK: 18 },
    }),
  ],
  [
    'a held plate',
    benchWith({
      cooler: plate,
      profile: { drive: { kind: 'hold', temperatureC: 25 } },
      part: { leakageW: 60, leakageDoublingK: 16 },
    }),
  ],
  [
    'a held plate under a fan table',
    benchWith({
      cooler: plate,
      profile: { drive: { kind: 'hold', temperatureC: 25 }, fan: risingFan },
      part: { leakageW: 60, leakageDoublingK: 16 },
    }),
  ],
]

/** Far above every balance that a cold start reaches in these cases. */
const FAR_C = 200

describe('close balances where RHS is not convex', () => {
  it.each(spreads)('with %s', (_name, bench) => {
    // The hottest air that still has a balance, to within a nanokelvin; just below it two balances lie close together.
    const rootIn = (airC: number) => {
      const { source, curve } = running(bench, { airC, humidityPct: 50 })
      return lowestRoot(source, curve, 0)
    }
    let low = -60
    let high = 150
    // Behind a load line the collapsing voltage makes another balance, far beyond.
    expect(rootIn(low)).toBeLessThan(FAR_C)
    expect(rootIn(high)).toBeGreaterThan(FAR_C)
    while (high - low > 1e-9) {
      const middle = (low + high) / 2
      if (rootIn(middle) < FAR_C) low = middle
      else high = middle
    }
    const { source, curve } = running(bench, { airC: low, humidityPct: 50 })
    const root = lowestRoot(source, curve, 0)
    const gap = (dieC: number) => rhsC(source, curve, 0, dieC) - dieC
    expect(Math.abs(gap(root))).toBeLessThan(1e-9)
    const startC = coldStartC(source, curve, 0)
    for (let part = 0; part < 2000; part++)
      expect(gap(startC + ((root - startC) * part) / 2000)).toBeGreaterThanOrEqual(0)
    // A hundredth of a kelvin cooler the balances part, and the lower one is the one reported.
    const cooler = running(bench, { airC: low - 0.01, humidityPct: 50 })
    const lower = lowestRoot(cooler.source, cooler.curve, 0)
    expect(lower).toBeLessThan(root)
    expect(rhsC(cooler.source, cooler.curve, 0, (lower + root) / 2)).toBeLessThan((lower + root) / 2)
    expect(rhsSlope(cooler.source, cooler.curve, 0, lower)).toBeLessThan(1)
  })
})

describe('the lowest balance', () => {
  it('is a balance, and fine sampling finds none below it', () => {
    fc.assert(
      fc.property(benches, corners, fc.integer({ min: 20, max: 60 }), (bench, corner, ratio) => {
        const { source, curve } = running(bench, corner, ratio)
        const root = lowestRoot(source, curve, 0)
        const gap = (dieC: number) => rhsC(source, curve, 0, dieC) - dieC
        const endC = Math.min(root, 400)
        const startC = Math.min(-50, endC - 50)
        if (root < Number.POSITIVE_INFINITY) expect(Math.abs(gap(root))).toBeLessThan(1e-8)
        for (let part = 0; part < 400; part++)
          expect(gap(startC + ((endC - startC) * part) / 400)).toBeGreaterThan(-1e-8)
      }),
      { numRuns: 300 },
    )
  })
})
