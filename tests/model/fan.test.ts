import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  type Coolant,
  dutyAt,
  prepareCoolant,
  radiatorLaw,
  radiatorResistance,
  solveCoolant,
} from '../../server/model/fan.ts'
import { fans, loop, risingFan } from './benches.ts'

const law = radiatorLaw(loop.radiator)

function overAir(coolant: Coolant, heatW: number): number {
  const place = { overAirK: Number.NaN, piece: undefined }
  solveCoolant(coolant, heatW, place)
  return place.overAirK
}

describe('fan table', () => {
  it('runs straight between rows and flat outside; without a table the duty is 100 %', () => {
    expect(dutyAt(risingFan, 20)).toBe(25)
    expect(dutyAt(risingFan, 30)).toBe(40)
    expect(dutyAt(risingFan, 34)).toBe(55)
    expect(dutyAt(risingFan, 60)).toBe(100)
    expect(dutyAt([], 60)).toBe(100)
  })
})

describe('radiator law', () => {
  it('passes through both points and keeps the lowest point below it', () => {
    expect(radiatorResistance(law, 20)).toBeCloseTo(0.09, 14)
    expect(radiatorResistance(law, 100)).toBeCloseTo(0.045, 14)
    // Halved over a factor of five: θ ∝ u^(−ln 2 / ln 5).
    expect(radiatorResistance(law, 50)).toBeCloseTo(0.045 * 2 ** (Math.log(2) / Math.log(5)), 14)
    expect(radiatorResistance(law, 10)).toBe(0.09)
    expect(radiatorResistance(radiatorLaw([{ dutyPct: 60, resistanceKPerW: 0.07 }]), 100)).toBe(0.07)
  })
})

describe('coolant and duty together', () => {
  it('satisfies T_cool = T_air + θ(u(T_cool))·Q at the lowest such temperature', () => {
    fc.assert(
      fc.property(
        fans,
        fc.double({ min: 5, max: 40, noNaN: true }),
        fc.double({ min: 1, max: 800, noNaN: true }),
        (fan, airC, heatW) => {
          const coolant = prepareCoolant(law, fan, airC)
          const overAirK = overAir(coolant, heatW)
          const excess = (y: number) => radiatorResistance(law, dutyAt(fan, airC + y)) * heatW - y
          expect(Math.abs(excess(overAirK))).toBeLessThan(1e-9 * (1 + overAirK))
          for (let part = 0; part < 400; part++) expect(excess((overAirK * part) / 400)).toBeGreaterThan(-1e-9)
        },
      ),
    )
  })

  it('takes the cooler of two states where a table that falls makes both possible', () => {
    // Above 40 °C the fan slows from 100 % to 20 %: 300 W hold the coolant at 25 + 0.045·300 = 38.5 or at 25 + 0.09·300.
    const fan = [
      { coolantC: 40, dutyPct: 100 },
      { coolantC: 41, dutyPct: 20 },
    ]
    const coolant = prepareCoolant(law, fan, 25)
    expect(coolant.falling).toBe(true)
    expect(overAir(coolant, 300)).toBeCloseTo(13.5, 10)
    expect(overAir(coolant, 340)).toBeCloseTo(30.6, 10)
  })
})
