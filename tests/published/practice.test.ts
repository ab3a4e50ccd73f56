import { describe, expect, test } from 'vitest'
import { moduleFromDatasheet } from '../../server/model/cooler/thermoelectric/module.ts'
import { powerAt } from '../../server/model/power.ts'
import { settle } from '../../server/model/settle.ts'
import { simulate } from '../../server/model/transient/simulate.ts'
import type { Bench, Cooler, Limits, Part } from '../../server/model/types.ts'
import { fitRuns } from '../harness/at-once.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { makeBoard, makeLoop, makePart, makePlate, makeProfile } from '../harness/make.ts'

/** Common practice, no source: what people who run such machines report to each other. No figure here is citable. */

/** One ten-core desktop part under an all-core vector stress load: mean GHz, core volts, package watts, mean °C. */
const reported = [
  [3.75, 1.017, 127, 56],
  [4.9, 1.278, 285, 83],
  [5.0, 1.307, 312, 87],
] as const

const cores = 10
const load = { kind: 'work', cores, activity: 1, vector: true } as const

const partOf = (switchingNf: number, leakageW: number, sharedPowerW: number): Part =>
  makePart({
    cores,
    ratioLow: 8,
    dieLimitC: 105,
    tripC: 115,
    needs: [
      { ratio: 30, voltageV: 0.95 },
      { ratio: 37.5, voltageV: 1.017 },
      { ratio: 49, voltageV: 1.278 },
      { ratio: 50, voltageV: 1.307 },
    ],
    switchingNf,
    leakageW,
    leakageAtV: 1,
    sharedPowerW,
    idlePowerW: 10,
    coreResistanceKPerW: 0.3,
  })

const powerOf = (part: Part, ghz: number, volts: number, dieC: number): number =>
  powerAt(part, load, volts, 0, ghz / part.referenceGhz, dieC).powerW

/** Switching and leakage by least squares on the relative deviations: two unknowns, linear. */
function fitted(sharedPowerW: number): Part {
  const onlySwitching = partOf(1, 0, 0)
  const onlyLeakage = partOf(0, 1, 0)
  let [aa, ab, bb, ay, by] = [0, 0, 0, 0, 0]
  for (const [ghz, volts, watts, dieC] of reported) {
    const a = powerOf(onlySwitching, ghz, volts, dieC) / watts
    const b = powerOf(onlyLeakage, ghz, volts, dieC) / watts
    const y = (watts - sharedPowerW) / watts
    aa += a * a
    ab += a * b
    bb += b * b
    ay += a * y
    by += b * y
  }
  const determinant = aa * bb - ab * ab
  return partOf((ay * bb - by * ab) / determinant, (by * aa - ay * ab) / determinant, sharedPowerW)
}

describe('one ten-core part at three settings (common practice, no source)', () => {
  test('a fit of the rows of `known` alone: each within 1 %', async () => {
    const rows = reported.map(([ghz, volts, watts, dieC]) => `${ghz} GHz ${volts} V ${watts} W ${dieC} °C vector`)
    const { service } = await loadFixture(`detent 1

part p {
  cores ${cores}
  reference 100 MHz
  ratio 8x to 60x
  core-voltage 0.7 V to 1.5 V
  die-limit 105 °C
  known { ${rows.join('; ')} }
}
`)
    const part = service.workspace.view(uriOf('a.detent'))?.scope.find('part', 'p')
    if (part === undefined) throw new Error('no part')
    const { residuals } = fitRuns(part, [])
    expect(residuals).toHaveLength(reported.length)
    for (const { powerW } of residuals)
      expect(Math.abs((powerW?.fitted ?? Number.NaN) / (powerW?.measured ?? Number.NaN) - 1)).toBeLessThan(0.01)
  })

  test.each([8, 10, 12])(
    'section 3, doubling 28 K and exponent 3, shared power %d W: each within 1 %',
    sharedPowerW => {
      const part = fitted(sharedPowerW)
      expect(part.switchingNf).toBeGreaterThan(1.3)
      expect(part.switchingNf).toBeLessThan(3)
      expect(part.leakageW).toBeGreaterThan(5)
      for (const [ghz, volts, watts, dieC] of reported)
        expect(Math.abs(powerOf(part, ghz, volts, dieC) / watts - 1)).toBeLessThan(0.01)
    },
  )

  test('without leakage no switching capacitance fits the three', () => {
    const { switchingNf } = fitted(10)
    const errors = [1, 1.1, 1.2, 1.3, 1.4].map(factor =>
      Math.max(
        ...reported.map(([ghz, volts, watts, dieC]) =>
          Math.abs(powerOf(partOf(switchingNf * factor, 0, 10), ghz, volts, dieC) / watts - 1),
        ),
      ),
    )
    expect(Math.min(...errors)).toBeGreaterThan(0.02)
  })
})

describe('a thermoelectric plate good for about 200 W (common practice, no source)', () => {
  const module = moduleFromDatasheet({ hotC: 27, currentA: 15, voltageV: 15.4, heatW: 142, differenceK: 68 })
  const plate = makePlate({
    ...module,
    driveCurrentA: 6,
    driveWhenOff: false,
    radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }],
    ratingW: 200,
  })
  const loop = makeLoop({ blockResistanceKPerW: 0.04, radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }] })
  const room = { airC: 24, humidityPct: 45 }
  const heavy = { ...load, activity: 0.97 }
  const bench = (cooler: Cooler, limits: Limits = {}, part: Partial<Part> = {}): Bench => ({
    part: { ...fitted(10), ...part },
    cooler,
    board: makeBoard(),
    profile: makeProfile({ steps: [{ fromCores: 1, toCores: cores, ratio: 49 }], limits }),
  })
  /** Without a die limit nothing gives ratio back: what the cooler alone does to the load. */
  const unheld = { dieLimitC: 300, tripC: 310 }

  test('carries 200 W', () => {
    const settled = settle(bench(plate, { sustainedPowerW: 200 }), heavy, room)
    expect(settled?.powerW).toBeCloseTo(200, 9)
    expect(settled?.dieC).toBeLessThan(70)
  })

  test('with about 280 W on it the machine runs away within ten minutes of warming up', () => {
    expect(settle(bench(plate, {}, unheld), heavy, room)?.state).toBe('runaway')
    const run = simulate(bench(plate, {}, unheld), heavy, room, { overS: 600 })
    expect(run?.tripped).toBe(true)
    expect(run?.events.at(-1)?.kind).toBe('trip')
    expect(run?.endS).toBeGreaterThan(300)
    expect(run?.endS).toBeLessThan(600)
    // It looks well for minutes: about 280 W half way.
    const halfWay = run?.series.powerW[Math.round((run?.endS ?? 0) / 2)] ?? 0
    expect(halfWay).toBeGreaterThan(265)
    expect(halfWay).toBeLessThan(305)
  })

  test('its die limit saves it, at the cost of the clock', () => {
    const run = simulate(bench(plate), heavy, room, { overS: 900 })
    expect(run?.tripped).toBe(false)
    expect(run?.firstDropS).toBeGreaterThan(300)
    expect(run?.firstDropS).toBeLessThan(600)
    expect(settle(bench(plate), heavy, room)?.state).toBe('throttled')
  })

  test('held to about 170 W sustained power it settles below 70 °C', () => {
    const held = bench(plate, { sustainedPowerW: 170 })
    const settled = settle(held, heavy, room)
    expect(settled?.limiter).toBe('sustained-power')
    expect(settled?.dieC).toBeLessThan(70)
    const run = simulate(held, heavy, room, { overS: 1800 })
    expect(run?.tripped).toBe(false)
    expect(Math.max(...(run?.series.dieC ?? [999]))).toBeLessThan(70)
    expect(run?.late?.powerW).toBeCloseTo(170, 0)
  })

  test('a plain liquid loop carries both', () => {
    const settled = settle(bench(loop), heavy, room)
    expect(settled?.state).toBe('steady')
    expect(settled?.powerW).toBeGreaterThan(270)
    expect(settled?.powerW).toBeLessThan(290)
    const run = simulate(bench(loop), heavy, room, { overS: 1800 })
    expect(run?.tripped).toBe(false)
    expect(run?.firstDropS).toBeNull()
    expect(settle(bench(loop, { sustainedPowerW: 170 }), heavy, room)?.dieC).toBeLessThan(70)
  })
})
