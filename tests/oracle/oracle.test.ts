/**
 * The reference is itself held to cases worked out by hand: closed forms
 * without leakage, load lines that solve on paper, the Lambert W balance and
 * the printed formulas for thermoelectric plates and dew points.
 */
import { describe, expect, it } from 'vitest'
import type { Bench, Load, Part } from '../../server/model/types.ts'
import { makeChilled } from '../harness/make.ts'
import { chipOf, taskOf } from './chip.ts'
import { passivePlate, radiatorKPerW, wetPointC } from './cooling.ts'
import { setVoltageV } from './die.ts'
import { levelsOf } from './levels.ts'
import { allRoots, evenly, valley } from './numeric.ts'
import { all, corner, loop, withPart, withProfile } from './paper-bench.ts'
import { balancesPlain, runningPlain } from './plain.ts'
import { oracleSettle } from './settle.ts'

// Eight cores at 5 GHz, 1.2 V and 2 nF.
const dynamicW = 8 * 2 * 1.44 * 5

describe('tools', () => {
  it('finds roots on both sides of a narrow valley and none above a shallow one', () => {
    const narrow = allRoots(x => (x - 0.505) ** 2 - 1e-8, evenly(0, 1, 10))
    expect(narrow.roots).toHaveLength(2)
    expect(narrow.roots[0]).toBeCloseTo(0.5049, 10)
    expect(narrow.roots[1]).toBeCloseTo(0.5051, 10)
    expect(allRoots(x => (x - 0.505) ** 2 + 1e-8, evenly(0, 1, 10)).roots).toEqual([])
  })
  it('finds the bottom of a parabola', () => {
    expect(valley(x => (x - 0.3) ** 2, 0, 1)).toBeCloseTo(0.3, 7)
  })
})

describe('without leakage, on a loop', () => {
  it('the balance is a sum of products', () => {
    const powerW = dynamicW + 10
    const dieC = 25 + 0.2 * powerW + (0.5 * dynamicW) / 8
    const got = oracleSettle(loop, all, corner)
    expect(got).toMatchObject({ state: 'steady', limiter: 'step', ratio: 50, shareHigh: 1, driveA: null })
    expect(got.powerW).toBeCloseTo(powerW, 9)
    expect(got.dieC).toBeCloseTo(dieC, 9)
    expect(got.plateC).toBeCloseTo(25 + 0.1 * powerW, 9)
    expect(got.coolantC).toBeCloseTo(25 + 0.05 * powerW, 9)
    expect(got.marginW).toBeCloseTo((110 - dieC) / 0.2, 6)
  })

  it('the die limit shares time so that the mean power gives exactly the limit', () => {
    const got = oracleSettle(withProfile({ limits: { dieC: 50 } }), all, corner)
    // 50 = 25 + 0.2 (P_dyn + 10) + P_dyn/16, and P_dyn is 2.304 W for each unit of ratio.
    const meanW = (50 - 25 - 2) / 0.2625
    const perRatioW = 8 * 2 * 1.44 * 0.1
    const ratio = meanW / perRatioW
    expect(got).toMatchObject({ state: 'throttled', limiter: 'die-limit', dieC: 50, marginW: 0 })
    expect(got.ratioHigh).toBe(Math.ceil(ratio))
    expect(got.ratioLow).toBe(Math.floor(ratio))
    expect(got.ratio).toBeCloseTo(ratio, 8)
    expect(got.dynamicW).toBeCloseTo(meanW, 8)
  })

  it('a band alternates in the middle of its return span', () => {
    const bands = [{ fromCores: 1, toCores: 8, aboveC: 56, drop: 4 }]
    // 50x settles at 57.24 °C, 46x at 54.82 °C.
    const lower = 25 + 2 + 0.2625 * 8 * 2 * 1.44 * 4.6
    expect(lower).toBeLessThan(55)
    const apart = oracleSettle(withProfile({ bands, returnK: 1 }), all, corner)
    expect(apart).toMatchObject({ state: 'alternating', limiter: 'band', dieC: 55.5, ratioHigh: 50, ratioLow: 46 })
    const meanW = (55.5 - 27) / 0.2625
    expect(apart.dynamicW).toBeCloseTo(meanW, 8)
    expect(apart.shareHigh).toBeCloseTo((meanW / (8 * 2 * 1.44 * 0.1) - 46) / 4, 8)
    const latched = oracleSettle(withProfile({ bands, returnK: 2 }), all, corner)
    expect(latched).toMatchObject({ state: 'steady', limiter: 'band', ratio: 46 })
    expect(latched.dieC).toBeCloseTo(lower, 8)
  })

  it('the sustained power is met exactly', () => {
    const got = oracleSettle(withProfile({ limits: { sustainedPowerW: 100 } }), all, corner)
    expect(got).toMatchObject({ state: 'alternating', limiter: 'sustained-power', ratioHigh: 40, ratioLow: 39 })
    expect(got.powerW).toBeCloseTo(100, 9)
    expect(got.ratio).toBeCloseTo(90 / (8 * 2 * 1.44 * 0.1), 8)
    expect(got.dieC).toBeCloseTo(25 + 0.2 * 100 + 90 / 16, 8)
    expect(oracleSettle(withProfile({ limits: { sustainedPowerW: 20 } }), all, corner)).toMatchObject({
      state: 'steady',
      limiter: 'sustained-power',
      ratio: 10,
      notes: { sustainedOver: true },
    })
  })

  it('current and burst power cap the ladder', () => {
    // I = P_dyn / 1.2 V is 1.92 A for each unit of ratio; P is 2.304 W for each, and 10 W.
    expect(oracleSettle(withProfile({ limits: { currentA: 80 } }), all, corner)).toMatchObject({
      limiter: 'current',
      ratio: 41,
    })
    expect(oracleSettle(withProfile({ limits: { burstPowerW: 100 } }), all, corner)).toMatchObject({
      limiter: 'burst-power',
      ratio: 39,
    })
    const never = oracleSettle(withProfile({ limits: { currentA: 5 } }), all, corner)
    expect(never).toMatchObject({ state: 'steady', ratio: 10, notes: { currentOver: true } })
  })

  it('over the limit at the lowest ratio the margin is what must go', () => {
    const got = oracleSettle(withProfile({ limits: { dieC: 30 } }), all, corner)
    const lowest = 8 * 2 * 1.44
    expect(got).toMatchObject({ state: 'over-limit', ratio: 10 })
    expect(got.dieC).toBeCloseTo(25 + 2 + 0.2625 * lowest, 9)
    expect(got.marginW).toBeCloseTo((30 - 27 - 0.2625 * lowest) / 0.2, 8)
  })
})

describe('voltage', () => {
  const setV = ({ part, profile, board }: Bench, ratio: number): number =>
    setVoltageV({ ...part, ...profile }, board, ratio)
  it('rounds to a microvolt, then to the step, halves upward', () => {
    const bench = (voltageV: number): Bench => ({
      ...withProfile({ voltage: { kind: 'fixed', voltageV } }),
      board: { loadLineOhm: 0, otherPowerW: 50, coreVoltageStepV: 0.005 },
    })
    expect(setV(bench(1.2025), 50)).toBe(1.205)
    expect(setV(bench(1.2024994), 50)).toBe(1.2)
    expect(setV(bench(1.2024996), 50)).toBe(1.205)
  })
  it('lays set rows over the needs, without the offset', () => {
    const bench = withProfile({ voltage: { kind: 'needs', offsetV: 0.01, set: [{ ratio: 50, voltageV: 1.3 }] } })
    expect(setV(bench, 45)).toBeCloseTo((1.01 + 1.3) / 2, 12)
    expect(setV(bench, 30)).toBeCloseTo(1.01, 12)
    expect(setV(bench, 55)).toBeCloseTo(1.3, 12)
  })
  it('solves the load line where it has a closed form', () => {
    const conductance = (dynamicW / 1.44) * 1
    for (const exponent of [1, 2]) {
      const bench: Bench = {
        ...withPart({ leakageW: 20, leakageExponent: exponent }),
        board: { loadLineOhm: 4e-4, otherPowerW: 50 },
      }
      const warm = 20 * 2 ** ((65 - 25) / 25)
      const got = runningPlain(bench, { kind: 'work', cores: 8, activity: 1, vector: false }, 50, 65)
      const expected =
        exponent === 1
          ? (1.2 - (4e-4 * warm) / 1.2) / (1 + 4e-4 * conductance)
          : 1.2 / (1 + 4e-4 * (conductance + warm / 1.44))
      expect(got.dieV).toBeCloseTo(expected, 12)
      expect(got.currentA).toBeCloseTo((1.2 - expected) / 4e-4, 7)
    }
  })
})

/**
 * Power that grows exponentially with temperature balances at Lambert W points.
 * The figures are exact arithmetic to 30 digits, not a publication's.
 */
describe('thermal runaway', () => {
  const still: Load = { kind: 'work', cores: 8, activity: 0, vector: false }
  const hot = (change: Partial<Part>): Bench => withPart({ sharedPowerW: 100, leakageW: 20, dieLimitC: 130, ...change })

  it('lands on the stable root and knows the unstable one', () => {
    const got = oracleSettle(hot({}), still, corner)
    expect(got.dieC).toBeCloseTo(53.9179983605, 9)
    expect(got.powerW).toBeCloseTo(144.589991802, 8)
    expect(got.notes.slope).toBeCloseTo(0.24725942, 6)
    const { roots } = balancesPlain(hot({}), corner, { kind: 'work', cores: 8, activity: 0, vector: false }, 50)
    expect(roots).toHaveLength(2)
    expect(roots[1]).toBeCloseTo(138.78034018, 7)
  })
  it('has as its margin the heat that makes the two roots meet', () => {
    // 1 W of constant heat is worth 0.2 K of air; the air may rise to 48.2481880458 °C.
    const got = oracleSettle(hot({}), still, corner)
    expect(got.marginW).toBeCloseTo((48.2481880458 - 25) / 0.2, 7)
    const cut = oracleSettle(hot({ dieLimitC: 90 }), still, corner)
    expect(cut.marginW).toBeCloseTo((90 - 25) / 0.2 - 100 - 20 * 2 ** (65 / 25), 7)
  })
  it('says runaway where there is no root', () => {
    const got = oracleSettle(hot({ leakageDoublingK: 10 }), still, corner)
    expect(got).toMatchObject({ state: 'runaway', dieC: null, powerW: null, marginW: null, ratio: null })
    expect(got.wetC).toBeCloseTo(13.8516, 4)
  })
})

describe('radiator and fan', () => {
  const loopAt = (bench: Bench, heatW: number) => {
    if (bench.cooler.kind === 'thermoelectric') throw new Error('a loop has no modules')
    return passivePlate(bench, bench.cooler, { airC: 20, humidityPct: 50 }, heatW)
  }
  it('passes the power law through both points and holds below the lower', () => {
    const points = [
      { dutyPct: 25, resistanceKPerW: 0.4 },
      { dutyPct: 100, resistanceKPerW: 0.1 },
    ]
    expect(radiatorKPerW(points, 50)).toBeCloseTo(0.2, 12)
    expect(radiatorKPerW(points, 10)).toBe(0.4)
  })
  it('solves coolant and duty together', () => {
    // u = 2.5 %/K · (T − 20 °C) and θ = 10/u K/W give (T − 20)² = 4 Q.
    const fanned: Bench = {
      ...withProfile({
        fan: [
          { coolantC: 30, dutyPct: 25 },
          { coolantC: 60, dutyPct: 100 },
        ],
      }),
      cooler: {
        kind: 'loop',
        blockResistanceKPerW: 0.05,
        radiator: [
          { dutyPct: 25, resistanceKPerW: 0.4 },
          { dutyPct: 100, resistanceKPerW: 0.1 },
        ],
        plateHeatJPerK: 150,
        coolantHeatJPerK: 3000,
      },
    }
    expect(loopAt(fanned, 100).coolantC).toBeCloseTo(40, 9)
    expect(loopAt(fanned, 225).coolantC).toBeCloseTo(50, 9)
    expect(loopAt(fanned, 10).coolantC).toBeCloseTo(24, 9)
    expect(loopAt(fanned, 1000).coolantC).toBeCloseTo(120, 9)
  })
  it('takes the lowest of several solutions when the fan slows down as it warms', () => {
    const falling: Bench = {
      ...withProfile({
        fan: [
          { coolantC: 40, dutyPct: 100 },
          { coolantC: 50, dutyPct: 25 },
        ],
      }),
      cooler: {
        kind: 'air',
        blockResistanceKPerW: 0.05,
        radiator: [
          { dutyPct: 25, resistanceKPerW: 0.4 },
          { dutyPct: 100, resistanceKPerW: 0.1 },
        ],
        plateHeatJPerK: 150,
        coolantHeatJPerK: 400,
      },
    }
    expect(loopAt(falling, 150).coolantC).toBeCloseTo(35, 9)
    expect(loopAt(falling, 300).coolantC).toBeCloseTo(140, 9)
  })
})

describe('chilled water', () => {
  it('holds its coolant up to the capacity', () => {
    const bench: Bench = {
      ...loop,
      cooler: makeChilled({
        coolantC: 8,
        capacityW: 100,
        beyondKPerW: 0.08,
        blockResistanceKPerW: 0.05,
        plateHeatJPerK: 150,
      }),
    }
    const got = oracleSettle(bench, all, corner)
    const powerW = dynamicW + 10
    expect(got.coolantC).toBeCloseTo(8 + 0.08 * (powerW - 100), 9)
    expect(got.plateC).toBeCloseTo(8 + 0.08 * (powerW - 100) + 0.05 * powerW, 9)
    expect(oracleSettle(bench, { kind: 'idle' }, corner).dieC).toBeCloseTo(8 + 0.15 * 9, 9)
  })
})

/** The dew and frost points of the Magnus form with these coefficients, from exact arithmetic (10 to 35 °C also printed). */
describe('wet point', () => {
  it.each([
    [25, 50, 13.8516],
    [20, 35, 4.0611],
    [35, 95, 34.0769],
    [5, 20, -14.4202],
    [15, 35, -0.3138],
    [20, 20, -3.2398],
  ])('%d °C at %d %%', (airC, humidityPct, expected) => {
    expect(wetPointC({ airC, humidityPct })).toBeCloseTo(expected, 3)
  })
})

describe('the ladder', () => {
  it('keeps the deepest row of a threshold, drops rows that do not deepen or stand at the limit, and ends at the lowest ratio', () => {
    const row = (aboveC: number, drop: number) => ({ fromCores: 1, toCores: 8, aboveC, drop })
    const bench: Bench = {
      ...withProfile({
        bands: [row(60, 1), row(60, 3), row(70, 2), row(80, 36), row(110, 40), { ...row(50, 9), toCores: 4 }],
        vectorDrop: 2,
      }),
    }
    const levels = levelsOf(chipOf(bench), taskOf({ kind: 'work', cores: 8, activity: 1, vector: true }), {
      count: 0,
      limiter: null,
    })
    expect(levels).toEqual([
      { ratios: [48], enteredC: Number.NEGATIVE_INFINITY, returnK: 0, limiter: 'vector', givenBack: 0 },
      { ratios: [45], enteredC: 60, returnK: 0, limiter: 'band', givenBack: 0 },
      { ratios: [12], enteredC: 80, returnK: 0, limiter: 'band', givenBack: 0 },
      { ratios: [11], enteredC: 110, returnK: 0, limiter: 'die-limit', givenBack: 37 },
      { ratios: [10], enteredC: 110, returnK: 0, limiter: 'die-limit', givenBack: 38 },
    ])
  })
})
