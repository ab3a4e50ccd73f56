import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { dutyAt, prepareCoolant, radiatorLaw, radiatorResistance } from '../../server/model/fan.ts'
import {
  electricalInput,
  emptyPlatePoint,
  HEAT_RATIO_TOLERANCE,
  heatTaken,
  isSound,
  moduleFromDatasheet,
  solvePlate,
  type Thermoelectric,
} from '../../server/model/thermoelectric.ts'
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
    const one: Thermoelectric = {
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
function bySystem(made: Thermoelectric, currentA: number, heatW: number, airC: number, theta: number) {
  const { modules: n, seebeckVPerK, resistanceOhm, conductanceWPerK: k } = made
  const pumped = seebeckVPerK * currentA
  const joule = (currentA * currentA * resistanceOhm) / 2
  const a = [n * (pumped + k), -n * k, -theta * n * k, 1 - theta * n * (pumped - k)] as const
  const b = [heatW + n * joule, airC + 273.15 + theta * n * joule] as const
  const det = a[0] * a[3] - a[1] * a[2]
  return { coldC: (b[0] * a[3] - a[1] * b[1]) / det - 273.15, hotC: (a[0] * b[1] - a[2] * b[0]) / det - 273.15 }
}

describe('plate at a heat and a current', () => {
  const point = emptyPlatePoint()
  const currents = fc.double({ min: 0, max: 14, noNaN: true })
  const heats = fc.double({ min: 0, max: 400, noNaN: true })

  it('solves the module and radiator equations, duty and coolant together', () => {
    fc.assert(
      fc.property(plates, fans, corners, currents, heats, (made, fan, { airC }, currentA, heatW) => {
        const law = radiatorLaw(made.radiator)
        solvePlate(made, prepareCoolant(law, fan, airC), currentA, heatW, point)
        if (!Number.isFinite(point.plateC)) return
        const scale = 1e-9 * (100 + point.outW)
        const radiatorKPerW = radiatorResistance(law, dutyAt(fan, point.coolantC))
        expect(Math.abs(heatTaken(made, currentA, point.plateC, point.hotC) - heatW)).toBeLessThan(scale)
        expect(Math.abs(heatW + electricalInput(made, currentA, point.plateC, point.hotC) - point.outW)).toBeLessThan(
          scale,
        )
        expect(Math.abs(point.hotC - point.coolantC - made.blockResistanceKPerW * point.outW)).toBeLessThan(scale)
        expect(Math.abs(point.coolantC - airC - radiatorKPerW * point.outW)).toBeLessThan(scale)
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
          const coolant = prepareCoolant(law, [], airC)
          solvePlate(made, coolant, currentA, heatW, point)
          const theta = radiatorResistance(law, 100)
          expect(Number.isFinite(point.plateC)).toBe(isSound(made, currentA, theta))
          if (!Number.isFinite(point.plateC)) return
          const system = bySystem(made, currentA, heatW, airC, theta + made.blockResistanceKPerW)
          expect(Math.abs(point.plateC - system.coldC)).toBeLessThan(1e-7 * (300 + Math.abs(system.coldC)))
          expect(Math.abs(point.hotC - system.hotC)).toBeLessThan(1e-7 * (300 + Math.abs(system.hotC)))
        },
      ),
      { numRuns: 500 },
    )
  })

  it('gives slopes that agree with differences', () => {
    const coolant = prepareCoolant(radiatorLaw(plate.radiator), [], 24)
    const at = (currentA: number, heatW: number) => {
      solvePlate(plate, coolant, currentA, heatW, point)
      return { ...point }
    }
    for (const currentA of [0, 3, 7, 12]) {
      const slope = at(currentA, 150).slopeKPerW
      expect((at(currentA, 150.01).plateC - at(currentA, 149.99).plateC) / 0.02).toBeCloseTo(slope, 8)
      const turn = at(currentA + 1e-4, 150).plateC - at(Math.max(0, currentA - 1e-4), 150).plateC
      expect(Math.sign(turn)).toBe(Math.sign(at(currentA, 150).currentSlope))
    }
  })

  it('takes no electrical power without current', () => {
    solvePlate(plate, prepareCoolant(radiatorLaw(plate.radiator), [], 24), 0, 123.4, point)
    expect(electricalInput(plate, 0, point.plateC, point.hotC)).toBe(0)
    expect(point.outW).toBeCloseTo(123.4, 12)
  })
})
