import psychrolib from 'psychrolib'
import { describe, expect, it } from 'vitest'
import { dewPointC, frostPointC, wetPointC } from '../../server/model/humidity.ts'

const airs = [5, 10, 15, 20, 25, 30, 35]
const humidities = [20, 35, 50, 65, 80, 95]

describe('wet point', () => {
  it('agrees with psychrolib within 0.05 K wherever the wet point is above 0 °C', () => {
    psychrolib.SetUnitSystem(psychrolib.SI)
    let judged = 0
    for (const airC of airs) {
      for (const humidityPct of humidities) {
        const reference = psychrolib.GetTDewPointFromRelHum(airC, humidityPct / 100)
        if (reference <= 0.01) continue
        expect(Math.abs(wetPointC(airC, humidityPct) - reference)).toBeLessThan(0.05)
        judged++
      }
    }
    expect(judged).toBe(33)
  })

  // Magnus forms evaluated in 30-digit arithmetic apart from this code.
  it.each([
    [5, 20, -16.1575, -14.4202],
    [5, 35, -9.2225, -8.1799],
    [5, 65, -1.0402, -0.9159],
    [10, 20, -11.981, -10.6528],
    [15, 35, -0.3566, -0.3138],
    [20, 20, -3.6709, -3.2398],
  ])('takes the frost point where the dew point is below 0 °C: %d °C, %d %%', (airC, humidityPct, dew, frost) => {
    expect(dewPointC(airC, humidityPct)).toBeCloseTo(dew, 4)
    expect(frostPointC(airC, humidityPct)).toBeCloseTo(frost, 4)
    expect(wetPointC(airC, humidityPct)).toBe(frostPointC(airC, humidityPct))
    expect(frost).toBeGreaterThan(dew)
  })

  it('is the air temperature itself in saturated air, and has no step at 0 °C', () => {
    expect(wetPointC(21, 100)).toBeCloseTo(21, 12)
    expect(wetPointC(0, 100)).toBe(0)
    expect(wetPointC(0, 100 - 1e-7)).toBeCloseTo(wetPointC(1e-8, 100), 6)
  })
})
