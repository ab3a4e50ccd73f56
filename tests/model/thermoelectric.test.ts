import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import { HEAT_RATIO_TOLERANCE, moduleFromDatasheet } from '../../server/model/cooler/thermoelectric/module.ts'
import { dutyAt, radiatorLaw, radiatorResistance } from '../../server/model/fan.ts'
import type { FanPoint, ThermoelectricCooler } from '../../server/model/types.ts'
import { electricalInput, heatTaken, isSound } from '../harness/modules.ts'
import { plateAt as allAt, type PlateAt } from '../harness/plate-at.ts'
import { corners, fans, plate, plates } from './benches.ts'

const T_HOT_K = 298

/** Laird PC series, T_h = 298 K (dtsheet.com/doc/1563006, rev. 1, 2006): I_max, V_max, Q_max, ΔT_max, error of Q in %. */
const lairdRows = [
  ['PC-072-14-06', 15.4, 8.9, 85.1, 68, 0.029866, 0.446, 0.7778, -1.1],
  ['PC-128-14-06', 15.4, 15.8, 151.4, 68, 0.05302, 0.7919, 1.3809, -1.3],
  ['PC-128-20-08', 24, 15.8, 235.5, 70, 0.05302, 0.5037, 2.0723, -0.6],
  ['PC-200-14-06', 15.4, 25, 236.5, 68, 0.083893, 1.2529, 2.1849, -0.03],
  ['PC-288-10-05', 9, 35.8, 198.4, 68, 0.120134, 3.0701, 1.8285, -0.3],
  ['PC-288-14-11', 8.5, 35.8, 182.6, 71, 0.120134, 3.2083, 1.6324, 3.2],
] as const

describe('module constants from a datasheet', () => {
  it.each(lairdRows)('%s', (_name, currentA, voltageV, heatW, differenceK, alpha, ohm, wPerK, errorPct) => {
    const made = moduleFromDatasheet({ hotC: T_HOT_K - 273.15, currentA, voltageV, heatW, differenceK })
    expect(made.seebeckVPerK).toBeCloseTo(alpha, 6)
    expect(made.resistanceOhm).toBeCloseTo(ohm, 4)
    expect(made.conductanceWPerK).toBeCloseTo(wPerK, 4)
    expect((1 / made.heatRatio - 1) * 100).toBeCloseTo(errorPct, 1)
    expect(Math.abs(made.heatRatio - 1)).toBeLessThan(HEAT_RATIO_TOLERANCE)
  })

  it('tells a sheet that contradicts itself (electracool.com, TM 127-1.4-4.0: 16.5 % too much by the other three)', () => {
    const made = moduleFromDatasheet({ hotC: 27, currentA: 3.9, voltageV: 15.5, heatW: 32, differenceK: 70 })
    expect((1 / made.heatRatio - 1) * 100).toBeCloseTo(16.5, 1)
    expect(Math.abs(made.heatRatio - 1)).toBeGreaterThan(HEAT_RATIO_TOLERANCE)
  })

  it('keeps the identities that define the four numbers', () => {
    const sheet = { hotC: 27, currentA: 15, voltageV: 15.4, heatW: 142, differenceK: 68 }
    const { seebeckVPerK: alpha, resistanceOhm, conductanceWPerK } = moduleFromDatasheet(sheet)
    const coldK = 27 + 273.15 - 68
    const one = {
      modules: 1,
      seebeckVPerK: alpha,
      resistanceOhm,
      conductanceWPerK,
      blockResistanceKPerW: 0,
    }
    expect((alpha * coldK) / resistanceOhm).toBeCloseTo(15, 12)
    expect((alpha * alpha * coldK * coldK) / (2 * resistanceOhm * conductanceWPerK)).toBeCloseTo(68, 12)
    expect(alpha * 68 + 15 * resistanceOhm).toBeCloseTo(15.4, 12)
    expect(heatTaken(one, 15, 27 - 68, 27)).toBeCloseTo(0, 10)
    expect(electricalInput(one, 15, 27 - 68, 27)).toBeCloseTo(15.4 * 15, 10)
  })
})

/** Solves the two heat equations as a 2 × 2 system, by Cramer's rule. */
function bySystem(made: ThermoelectricCooler, currentA: number, heatW: number, airC: number, theta: number) {
  const { modules: n, seebeckVPerK, resistanceOhm, conductanceWPerK: k } = made
  const pumped = seebeckVPerK * currentA
  const joule = (currentA * currentA * resistanceOhm) / 2
  const a = [n * (pumped + k), -n * k, -theta * n * k, 1 - theta * n * (pumped - k)] as const
  const b = [heatW + n * joule, airC + 273.15 + theta * n * joule] as const
  const det = a[0] * a[3] - a[1] * a[2]
  return { coldC: (b[0] * a[3] - a[1] * b[1]) / det - 273.15, hotC: (a[0] * b[1] - a[2] * b[0]) / det - 273.15 }
}

/** The plate at a heat and a current; undefined where it has no finite temperature. */
function plateAt(
  made: ThermoelectricCooler,
  fan: readonly FanPoint[],
  airC: number,
  currentA: number,
  heatW: number,
): (PlateAt & { readonly slopeKPerW: number; readonly warmC: number; readonly inputW: number }) | undefined {
  const cooler = { ...made, driveCurrentA: Math.max(currentA, 1) }
  const curve = prepareCurve(cooler, { drive: { kind: 'fixed', currentA }, fan }, { airC, humidityPct: 50 })
  const point = { plateC: Number.NaN, slopeKPerW: Number.NaN }
  curve.evaluate(heatW, point)
  if (!Number.isFinite(point.plateC)) return undefined
  const figures = allAt(curve, heatW)
  expect(Math.abs(figures.plateC - point.plateC)).toBeLessThan(1e-9 * (300 + Math.abs(point.plateC)))
  return { ...figures, slopeKPerW: point.slopeKPerW, warmC: figures.hotC ?? Number.NaN, inputW: figures.driveW ?? 0 }
}

describe('plate at a heat and a current', () => {
  const currents = fc.double({ min: 0, max: 14, noNaN: true })
  const heats = fc.double({ min: 0, max: 400, noNaN: true })

  it('solves the module and radiator equations, duty and coolant together', () => {
    fc.assert(
      fc.property(plates, fans, corners, currents, heats, (made, fan, { airC }, currentA, heatW) => {
        const law = radiatorLaw(made.radiator)
        const point = plateAt(made, fan, airC, currentA, heatW)
        if (point === undefined) return
        const outW = heatW + point.inputW
        const scale = 1e-9 * (100 + outW)
        const radiatorKPerW = radiatorResistance(law, dutyAt(fan, point.coolantC))
        expect(Math.abs(heatTaken(made, currentA, point.plateC, point.warmC) - heatW)).toBeLessThan(scale)
        expect(Math.abs(electricalInput(made, currentA, point.plateC, point.warmC) - point.inputW)).toBeLessThan(scale)
        expect(Math.abs(point.warmC - point.coolantC - made.blockResistanceKPerW * outW)).toBeLessThan(scale)
        expect(Math.abs(point.coolantC - airC - radiatorKPerW * outW)).toBeLessThan(scale)
        expect(isSound(made, currentA, radiatorKPerW)).toBe(true)
      }),
      { numRuns: 500 },
    )
  })

  it('has no finite temperature exactly where the soundness condition fails', () => {
    fc.assert(
      fc.property(
        plates,
        corners,
        fc.double({ min: 0, max: 200, noNaN: true }),
        heats,
        (made, { airC }, currentA, heatW) => {
          const law = radiatorLaw(made.radiator)
          const point = plateAt(made, [], airC, currentA, heatW)
          const theta = radiatorResistance(law, 100)
          expect(point !== undefined).toBe(isSound(made, currentA, theta))
          if (point === undefined) return
          const system = bySystem(made, currentA, heatW, airC, theta + made.blockResistanceKPerW)
          expect(Math.abs(point.plateC - system.coldC)).toBeLessThan(1e-7 * (300 + Math.abs(system.coldC)))
          expect(Math.abs(point.warmC - system.hotC)).toBeLessThan(1e-7 * (300 + Math.abs(system.hotC)))
        },
      ),
      { numRuns: 500 },
    )
  })

  it('gives slopes that agree with differences', () => {
    const at = (currentA: number, heatW: number) => plateAt(plate, [], 24, currentA, heatW)
    for (const currentA of [0, 3, 7, 12]) {
      const slope = at(currentA, 150)?.slopeKPerW ?? Number.NaN
      const rise = (at(currentA, 150.01)?.plateC ?? 0) - (at(currentA, 149.99)?.plateC ?? 0)
      expect(rise / 0.02).toBeCloseTo(slope, 8)
    }
  })

  it('takes no electrical power without current', () => {
    expect(plateAt(plate, [], 24, 0, 123.4)).toMatchObject({ driveA: 0, driveW: 0 })
    expect(plateAt(plate, [], 24, 0, 0)).toMatchObject({ plateC: 24, coolantC: 24, hotC: 24 })
  })
})
