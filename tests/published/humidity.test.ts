import psychrolib from 'psychrolib'
import { describe, expect, test } from 'vitest'
import { dewPointC, frostPointC, wetPointC } from '../../server/model/humidity.ts'

psychrolib.SetUnitSystem(psychrolib.SI)

const airs = [5, 10, 15, 20, 25, 30, 35]
const humidities = [20, 35, 50, 65, 80, 95]
const grid = airs.flatMap(airC => humidities.map(pct => [airC, pct] as const))

describe('psychrolib 1.1.1, which follows ASHRAE Handbook of Fundamentals 2017, ch. 1, eqs 5 and 6', () => {
  test('is called as its own documentation says: 25 °C, 80 % give 21.3094 °C', () => {
    // Value printed in a comment of the package's source.
    expect(psychrolib.GetTDewPointFromRelHum(25, 0.8)).toBeCloseTo(21.3094, 4)
  })

  // Magnus against Hyland and Wexler: 0.04 K over the whole grid, dew points and frost points alike.
  test.each(grid)('wet point in air of %d °C, humidity %d', (airC, pct) => {
    const theirs = psychrolib.GetTDewPointFromRelHum(airC, pct / 100)
    expect(Math.abs(wetPointC(airC, pct) - theirs)).toBeLessThan(0.04)
  })

  test('has nine cells of the grid below 0 °C, where ice decides and not water', () => {
    const frozen = grid.filter(([airC, pct]) => psychrolib.GetTDewPointFromRelHum(airC, pct / 100) < 0)
    expect(frozen).toHaveLength(9)
    for (const [airC, pct] of frozen) {
      expect(wetPointC(airC, pct)).toBe(frostPointC(airC, pct))
      expect(frostPointC(airC, pct)).toBeGreaterThan(dewPointC(airC, pct))
    }
  })
})

describe('dew point over supercooled water', () => {
  // Recomputed: Hyland and Wexler's equation over water, continued below 0 °C and inverted. The Magnus form stands
  // up to 0.05 K below it there.
  test.each([
    [5, 20, -16.1184],
    [5, 35, -9.1924],
    [5, 50, -4.5556],
    [5, 65, -1.0264],
    [10, 20, -11.9373],
    [10, 35, -4.7527],
    [15, 20, -7.7735],
    [15, 35, -0.3256],
    [20, 20, -3.6273],
  ])('air %d °C, humidity %d', (airC, pct, waterC) => {
    expect(Math.abs(dewPointC(airC, pct) - waterC)).toBeLessThan(0.05)
  })
})

describe('the Magnus form of the WMO Guide No. 8, Annex 4.B', () => {
  // Coefficients 17.62 and 243.12 °C as printed in a manufacturer's manual (Vaisala AWS330, p. 273) that names the
  // Annex; the values are recomputed from the closed form, to four decimals.
  test.each([
    [10, [-11.981, -4.7844, 0.0409, 3.717, 6.706, 9.2352]],
    [20, [-3.6709, 4.0611, 9.2552, 13.2174, 16.4424, 19.1736]],
    [25, [0.4629, 8.4686, 13.8516, 17.9606, 21.3069, 24.142]],
    [30, [4.5826, 12.866, 18.4409, 22.6992, 26.1688, 29.1097]],
    [35, [8.6882, 17.2533, 23.0231, 27.4331, 31.0283, 34.0769]],
  ])('dew points in air of %d °C', (airC, dewPoints) => {
    humidities.forEach((pct, index) => {
      expect(Math.abs(dewPointC(airC, pct) - dewPoints[index]!)).toBeLessThan(6e-5)
    })
  })

  // Coefficients over ice, 22.46 and 272.62 °C: from memory of the same Annex; the values are recomputed from them.
  test.each([
    [5, 20, -14.4202],
    [5, 35, -8.1799],
    [5, 50, -4.0427],
    [5, 65, -0.9159],
    [10, 20, -10.6528],
    [10, 35, -4.2268],
    [15, 20, -6.9262],
    [15, 35, -0.3138],
    [20, 20, -3.2398],
  ])('frost point in air of %d °C, humidity %d', (airC, pct, frostC) => {
    expect(Math.abs(frostPointC(airC, pct) - frostC)).toBeLessThan(6e-5)
  })
})

/** Saturation line of the industrial formulation, IAPWS R7-97, region 4: coefficients n1 to n10. */
const n = [
  0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.1202082470247e5, -0.32325550322333e7,
  0.1491510861353e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
] as const

/** Saturation pressure in MPa at a temperature in K. */
function saturationMpa(kelvin: number): number {
  const t = kelvin + n[8] / (kelvin - n[9])
  const a = t * t + n[0] * t + n[1]
  const b = n[2] * t * t + n[3] * t + n[4]
  const c = n[5] * t * t + n[6] * t + n[7]
  return ((2 * c) / (-b + Math.sqrt(b * b - 4 * a * c))) ** 4
}

/** Saturation temperature in K at a pressure in MPa, the backward equation of the same region. */
function saturationK(mpa: number): number {
  const beta = mpa ** 0.25
  const e = beta * beta + n[2] * beta + n[5]
  const f = n[0] * beta * beta + n[3] * beta + n[6]
  const g = n[1] * beta * beta + n[4] * beta + n[7]
  const d = (2 * g) / (-f - Math.sqrt(f * f - 4 * e * g))
  return (n[9] + d - Math.sqrt((n[9] + d) ** 2 - 4 * (n[8] + n[9] * d))) / 2
}

describe('IAPWS-IF97, region 4, as a second reference', () => {
  // Official check values, R7-97, Tables 35 and 36; printed to nine digits.
  test.each([
    [300, 0.353658941e-2],
    [500, 0.263889776e1],
    [600, 0.123443146e2],
  ])('saturation pressure at %d K', (kelvin, mpa) => {
    expect(Math.abs(saturationMpa(kelvin) / mpa - 1)).toBeLessThan(2e-9)
  })
  test.each([
    [0.1, 0.372755919e3],
    [1, 0.453035632e3],
    [10, 0.584149488e3],
  ])('saturation temperature at %d MPa', (mpa, kelvin) => {
    expect(Math.abs(saturationK(mpa) / kelvin - 1)).toBeLessThan(2e-9)
  })

  test.each(grid.filter(([airC, pct]) => wetPointC(airC, pct) > 0))(
    'dew point in air of %d °C, humidity %d',
    (airC, pct) => {
      const vapourMpa = (pct / 100) * saturationMpa(airC + 273.15)
      expect(Math.abs(dewPointC(airC, pct) - (saturationK(vapourMpa) - 273.15))).toBeLessThan(0.042)
    },
  )
})

describe('printed dew point tables', () => {
  // "Taupunkttabelle", handout of the coating trade (expydoc.com/doc/12113599): rows of 17 °C and above, all cells
  // but 30 °C at 65 %, where the sheet prints 23.7 between 21.4 and 23.9: a misprint for 22.7. Its colder rows run up
  // to 0.3 K, its cells below 0 °C up to 0.75 K beside every formula, and are left out.
  const columns = [45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95]
  const misprint = { airC: 30, pct: 65 }
  test.each([
    [20, [7.7, 9.3, 10.7, 12.0, 13.2, 14.4, 15.5, 16.5, 17.4, 18.4, 19.2]],
    [22, [9.5, 11.2, 12.5, 13.9, 15.2, 16.3, 17.4, 18.4, 19.4, 20.3, 21.2]],
    [25, [12.2, 13.8, 15.4, 16.7, 18.0, 19.1, 20.2, 21.4, 22.3, 23.3, 24.2]],
    [30, [16.8, 18.4, 20.0, 21.4, 23.7, 23.9, 25.1, 26.1, 27.2, 28.2, 29.1]],
  ])('row of %d °C', (airC, row) => {
    columns.forEach((pct, index) => {
      if (airC === misprint.airC && pct === misprint.pct) return
      expect(Math.abs(wetPointC(airC, pct) - row[index]!), `${pct} %`).toBeLessThan(0.115)
    })
  })

  test.each([
    ['trocknungberlin.de', 22, 70, 16.3],
    ['trocknungberlin.de', 22, 45, 9.5],
    ['elsner-elektronik.de', 24, 60, 15.8],
    ['maleco.de', 20, 70, 14.4],
    ['maleco.de', 10, 90, 8.4],
  ])('%s: %d °C, humidity %d', (_source, airC, pct, dewC) => {
    expect(Math.abs(wetPointC(airC, pct) - dewC)).toBeLessThan(0.1)
  })
})
