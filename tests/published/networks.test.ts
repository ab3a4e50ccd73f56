import { describe, expect, test } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import { COOLANT, createNetwork, DIE, PLATE, STATE_SIZE } from '../../server/model/transient/network.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench } from '../../server/model/types.ts'
import { integrate } from '../harness/integrate.ts'
import { airAt, bareBench, oneCore } from './bench.ts'
import { twoCapacities } from './two-capacities.ts'

/** A bench whose coolant is the air itself: no heat that flows here can warm it. */
const heldCoolant = { radiator: [{ dutyPct: 100, resistanceKPerW: 1e-9 }], coolantHeatJPerK: 1e6 }

describe('resistances in series', () => {
  test('5 W through 3, 1 and 8 K/W in air of 25 °C: junction 85 °C, case 70 °C', () => {
    // Worked example of a web calculator (theprimecalculator.com), of low authority; recomputed. The definition
    // T_J = T_A + P (θ_heat sink + θ_JC) is that of Microchip's online documents.
    const radiator = [{ dutyPct: 100, resistanceKPerW: 8 }]
    const part = { idlePowerW: 5, packageResistanceKPerW: 3 }
    const settled = settle(bareBench(part, { blockResistanceKPerW: 1, radiator }), { kind: 'idle' }, airAt(25))
    expect(settled?.dieC).toBeCloseTo(85, 12)
    expect(settled?.plateC).toBeCloseTo(70, 12)
  })

  // Incropera, Fundamentals of Heat and Mass Transfer, 6th ed., problem 1.26: a chip of 5 mm square at 85 °C, coolant of
  // 15 °C. Statement read on studysoup.com, answers on qammunity.org; recomputed.
  test.each([
    [200, 0.35],
    [3000, 5.25],
  ])('a bare chip at h = %d W/m²K sheds %d W', (perM2K, watts) => {
    const radiator = [{ dutyPct: 100, resistanceKPerW: 1 / (perM2K * 0.005 ** 2) }]
    const part = { idlePowerW: watts, packageResistanceKPerW: 1e-9 }
    const settled = settle(bareBench(part, { blockResistanceKPerW: 0, radiator }), { kind: 'idle' }, airAt(15))
    expect(settled?.dieC).toBeCloseTo(85, 6)
  })
})

describe('a chip that starts up: Incropera, Fundamentals of Heat and Mass Transfer, ch. 5', () => {
  // 5 × 5 × 1 mm of silicon-like material (ρ 2000, c 700) with 9e6 W/m³ in it and h = 150 on one face, 20 °C. Statement
  // read on solutioninn.com (6th ed.); it ends at 80 °C, and 1 K before that after 38.3 s: the printed time is from
  // memory, τ = 9.33333 s and τ ln 60 = 38.2139 s are recomputed.
  const volume = 0.005 * 0.005 * 0.001
  const watts = 9e6 * volume
  const tau = (2000 * 0.001 * 700) / 150
  const part = {
    dieHeatJPerK: 2000 * 700 * volume,
    packageResistanceKPerW: 1 / (150 * 0.005 ** 2),
    switchingNf: 1e-9,
    sharedPowerW: watts - 1e-9,
  }
  const bench = bareBench(part, { ...heldCoolant, blockResistanceKPerW: 1e-6, plateHeatJPerK: 1e6 })
  const run = simulate(bench, oneCore, airAt(20), { overS: 120, sampleS: 0.01 })

  test('it ends at 80 °C', () => {
    expect(run?.series.dieC.at(-1)).toBeCloseTo(80 - 60 * Math.exp(-120 / tau), 5)
    expect(settle(bench, oneCore, airAt(20))?.dieC).toBeCloseTo(80, 5)
  })

  test('it is within 1 K after 38.2 s', () => {
    const index = run?.series.dieC.findIndex(dieC => dieC >= 79) ?? -1
    const timeS = run?.series.timeS[index] ?? 0
    expect(Math.abs(timeS - tau * Math.log(60))).toBeLessThanOrEqual(0.01)
    expect(Math.abs(timeS - 38.2139)).toBeLessThanOrEqual(0.01)
    expect(Math.abs(timeS - 38.3)).toBeLessThan(0.1)
  })

  test('it follows the exponential all the way', () => {
    run?.series.timeS.forEach((timeS, index) => {
      expect(Math.abs((run.series.dieC[index] ?? 0) - (80 - 60 * Math.exp(-timeS / tau)))).toBeLessThan(1e-5)
    })
    expect(run?.series.timeS.length).toBe(12_001)
  })
})

/** The network's state after a time, from a die at `dieC` and everything else at the air's temperature. */
function after(bench: Bench, dieC: number, airC: number, seconds: number): Float64Array {
  const network = createNetwork(bench, oneCore, airAt(airC))
  network.holdRatios([10], [1])
  const start = new Float64Array(STATE_SIZE)
  start.fill(airC)
  start[DIE] = dieC
  return integrate(network, start, seconds, { relative: 1e-11, absolute: 1e-11 })
}

test('a thermocouple bead in hot gas: Incropera, Example 5.1', () => {
  // h 400, ρ 8500, c 400 and τ = 1 s give 0.706 mm; from 25 °C in gas of 200 °C it shows 199 °C after 5.2 s. Figures
  // from memory; D = 7.05882e-4 m and ln 175 = 5.1648 s are recomputed.
  const diameter = (6 * 400 * 1) / (8500 * 400)
  expect(diameter).toBeCloseTo(7.05882e-4, 9)
  const areaM2 = Math.PI * diameter ** 2
  const part = {
    dieHeatJPerK: (8500 * 400 * Math.PI * diameter ** 3) / 6,
    packageResistanceKPerW: 1 / (400 * areaM2),
    switchingNf: 1e-12,
  }
  const bench = bareBench(part, { ...heldCoolant, blockResistanceKPerW: 1e-6, plateHeatJPerK: 1e6 })
  expect(after(bench, 25, 200, Math.log(175))[DIE]).toBeCloseTo(199, 6)
  expect(after(bench, 25, 200, 5.2)[DIE]).toBeGreaterThan(199)
  expect(after(bench, 25, 200, 5.1)[DIE]).toBeLessThan(199)
})

describe('two capacities in a row', () => {
  // Die and plate are the two capacities here.
  const part = { dieHeatJPerK: 20, switchingNf: 10, sharedPowerW: 140 }
  const bench = bareBench(part, { ...heldCoolant, blockResistanceKPerW: 0.15, plateHeatJPerK: 400 })
  test.each(twoCapacities)('the network after %d s', (seconds, die, plate) => {
    const y = after(bench, 25, 25, seconds)
    expect((y[DIE] ?? 0) - 25).toBeCloseTo(die, 6)
    expect((y[PLATE] ?? 0) - 25).toBeCloseTo(plate, 6)
    expect(y[COOLANT]).toBeCloseTo(25, 6)
  })

  test('a run, controller and all', () => {
    const run = simulate(bench, oneCore, airAt(25), { overS: 600, sampleS: 0.5 })
    for (const [seconds, die, plate] of twoCapacities) {
      const index = Math.round(seconds / 0.5)
      expect(run?.series.timeS[index]).toBeCloseTo(seconds, 9)
      expect((run?.series.dieC[index] ?? 0) - 25).toBeCloseTo(die, 5)
      expect((run?.series.plateC[index] ?? 0) - 25).toBeCloseTo(plate, 5)
    }
  })
})
