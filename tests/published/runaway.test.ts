import { describe, expect, test } from 'vitest'
import { highestRootBelow, lowestRoot, lowestRootAbove, rhsC, rhsSlope } from '../../server/model/balance.ts'
import { RUNAWAY_C } from '../../server/model/cooler/curve.ts'
import { prepareBench, prepareCorner, prepareLoad } from '../../server/model/prepare.ts'
import { ratioSource } from '../../server/model/ratio-source.ts'
import { settle } from '../../server/model/settle.ts'
import type { Bench } from '../../server/model/types.ts'
import { airAt, bareBench, oneCore } from './bench.ts'

/**
 * T = T_a + R·P with P(T) = P_d + P_L·2^((T − T0)/D). The largest ambient and the condition R·dP/dT < 1 are those of
 * R. P. Stout, "Beyond the data sheet: demystifying thermal runaway", Power Electronics Technology, November 2007; no
 * number is printed there, so the cases below are exact: Lambert W in 30-digit arithmetic, outside this project.
 */
interface Case {
  readonly steadyW: number
  readonly leakageW: number
  readonly atC: number
  readonly doublingK: number
  readonly resistanceKPerW: number
}

const first: Case = { steadyW: 100, leakageW: 20, atC: 25, doublingK: 25, resistanceKPerW: 0.2 }

/** A bench that is exactly that: one core of 10 nF at 1 GHz and 1 V, the rest of the power shared. */
function benchOf({ steadyW, leakageW, atC, doublingK, resistanceKPerW }: Case): Bench {
  const part = {
    switchingNf: 10,
    sharedPowerW: steadyW - 10,
    leakageW,
    leakageAtC: atC,
    leakageDoublingK: doublingK,
    packageResistanceKPerW: resistanceKPerW / 2,
    ratioLow: 10,
  }
  const radiator = [{ dutyPct: 100, resistanceKPerW: resistanceKPerW / 4 }]
  return bareBench(part, { blockResistanceKPerW: resistanceKPerW / 4, radiator })
}

function balanceOf(bench: Bench, airC: number) {
  const prepared = prepareBench(bench)
  const { curve } = prepareCorner(prepared, airAt(airC))
  const { source } = ratioSource(prepared, prepareLoad(prepared, oneCore), [10])
  return { source, curve }
}

/** Both real branches of Lambert's W below zero, by halving in w: w·e^w falls to −1/e at w = −1 and rises after. */
function lambertW(z: number, branch: 0 | -1): number {
  let [low, high] = branch === 0 ? [-1, 0] : [-1, -700]
  for (let round = 0; round < 200; round++) {
    const middle = (low + high) / 2
    if (middle * Math.exp(middle) < z) low = middle
    else high = middle
  }
  return low
}

describe('the first case: 100 W and 20 W of leakage that doubles in 25 K, 0.2 K/W, air of 25 °C', () => {
  const { source, curve } = balanceOf(benchOf(first), 25)

  test('stable balance 53.9179983605 °C at 144.589991802 W, slope 0.24725942', () => {
    const dieC = lowestRoot(source, curve, 0)
    expect(dieC).toBeCloseTo(53.9179983605, 9)
    expect(rhsSlope(source, curve, 0, dieC)).toBeCloseTo(0.24725942, 8)
    const settled = settle(benchOf(first), oneCore, airAt(25))
    expect(settled?.state).toBe('steady')
    expect(settled?.dieC).toBeCloseTo(53.9179983605, 9)
    expect(settled?.powerW).toBeCloseTo(144.589991802, 8)
    expect(settled?.notes.slope).toBeCloseTo(0.24725942, 8)
  })

  test('unstable balance 138.78034018 °C', () => {
    expect(rhsC(source, curve, 0, 138.78034018)).toBeCloseTo(138.78034018, 7)
    expect(rhsSlope(source, curve, 0, 138.78034018)).toBeGreaterThan(1)
    // Just above the stable balance the die cools; the next temperature that holds is the unstable one.
    expect(lowestRootAbove(source, curve, 0, 138.78034, RUNAWAY_C)).toBeCloseTo(138.78034, 7)
    expect(lowestRootAbove(source, curve, 0, 138.7804, RUNAWAY_C)).toBe(Number.POSITIVE_INFINITY)
    expect(highestRootBelow(source, curve, 0, 138.7803, 20)).toBeCloseTo(53.9179983605, 9)
  })

  test('the edge: largest air 48.2481880458 °C, touching at 104.315564068 °C with 180.336880111 W of leakage', () => {
    const below = settle(benchOf(first), oneCore, airAt(48.2481880458 - 1e-7))
    expect(below?.state).toBe('steady')
    // Close to the edge the balance moves with the square root of the distance.
    expect(Math.abs((below?.dieC ?? 0) - 104.315564068)).toBeLessThan(0.01)
    expect(Math.abs((below?.leakageW ?? 0) - 180.336880111)).toBeLessThan(0.05)
    expect(settle(benchOf(first), oneCore, airAt(48.2481880458 + 1e-7))?.state).toBe('runaway')
    const edge = balanceOf(benchOf(first), 48.2481880458)
    expect(rhsSlope(edge.source, edge.curve, 0, 104.315564068)).toBeCloseTo(1, 10)
    expect(rhsC(edge.source, edge.curve, 0, 104.315564068)).toBeCloseTo(104.315564068, 9)
  })

  test('the margin at 25 °C is what 0.2 K/W carries up to that edge', () => {
    // One more watt of steady heat is worth 0.2 K of air.
    const settled = settle(benchOf(first), oneCore, airAt(25))
    expect(settled?.marginW).toBeCloseTo((48.2481880458 - 25) / 0.2, 7)
  })
})

describe('two cases without a balance', () => {
  test.each([
    [{ ...first, doublingK: 10 }, 43.5069446783, 72.1347520444, 9.07999426943],
    [
      { steadyW: 50, leakageW: 5, atC: 25, doublingK: 10, resistanceKPerW: 1 },
      40.2876637294,
      14.4269504089,
      -24.1392866794,
    ],
  ] as const)('%o', (which: Case, touchC, touchW, largestAirC) => {
    expect(settle(benchOf(which), oneCore, airAt(25))?.state).toBe('runaway')
    const { source, curve } = balanceOf(benchOf(which), 25)
    expect(lowestRoot(source, curve, 0)).toBe(Number.POSITIVE_INFINITY)
    const cooler = settle(benchOf(which), oneCore, airAt(largestAirC - 1e-7))
    expect(cooler?.state).toBe('steady')
    expect(Math.abs((cooler?.dieC ?? 0) - touchC)).toBeLessThan(0.01)
    expect(Math.abs((cooler?.leakageW ?? 0) - touchW)).toBeLessThan(0.05)
    expect(settle(benchOf(which), oneCore, airAt(largestAirC + 1e-7))?.state).toBe('runaway')
  })
})

describe('against Lambert W over a range of benches', () => {
  const cases: [Case, number][] = []
  for (const doublingK of [10, 14, 20, 28, 40])
    for (const resistanceKPerW of [0.08, 0.15, 0.3, 0.5])
      for (const steadyW of [40, 120, 220])
        for (const airC of [-5, 22, 35]) cases.push([{ ...first, doublingK, resistanceKPerW, steadyW, atC: 60 }, airC])

  test('the balance, or that there is none', () => {
    const states = { steady: 0, runaway: 0 }
    for (const [which, airC] of cases) {
      const { steadyW, leakageW, atC, doublingK, resistanceKPerW } = which
      const lambda = doublingK / Math.LN2
      const baseC = airC + resistanceKPerW * steadyW
      const z = ((-resistanceKPerW * leakageW) / lambda) * Math.exp((baseC - atC) / lambda)
      const settled = settle(benchOf(which), oneCore, airAt(airC))
      if (z < -1 / Math.E) {
        expect(settled?.state).toBe('runaway')
        states.runaway++
        continue
      }
      const stableC = baseC - lambda * lambertW(z, 0)
      const unstableC = baseC - lambda * lambertW(z, -1)
      expect(settled?.dieC).toBeCloseTo(stableC, 8)
      const { source, curve } = balanceOf(benchOf(which), airC)
      expect(rhsC(source, curve, 0, unstableC)).toBeCloseTo(unstableC, 7)
      states.steady++
    }
    expect(states.steady).toBeGreaterThan(60)
    expect(states.runaway).toBeGreaterThan(10)
  })
})
