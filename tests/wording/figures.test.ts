import { describe, expect, it } from 'vitest'
import { coresText } from '../../server/wording/counts.ts'
import * as figures from '../../server/wording/figures.ts'

describe('figures', () => {
  it.each([
    [figures.clockText(5412.4), '5.41 GHz'],
    [figures.clockText(5400), '5.40 GHz'],
    [figures.clockText(800), '800 MHz'],
    [figures.clockText(999.9), '1.00 GHz'],
    [figures.clockText(null), '–'],
    [figures.ratioText(49.5), '49.5x'],
    [figures.ratioText(54), '54x'],
    [figures.ratioText(53.6237), '53.62x'],
    [figures.temperatureText(71.24), '71.2 °C'],
    [figures.temperatureText(-0.04), '0.0 °C'],
    [figures.temperatureText(Number.POSITIVE_INFINITY), '–'],
    [figures.powerText(188.4), '188 W'],
    [figures.powerText(1234.4), '1234 W'],
    [figures.powerText(9.5), '9.50 W'],
    [figures.powerText(-0.0001), '0 W'],
    [figures.powerText(99.97), '100 W'],
    [figures.currentText(0), '0 A'],
    [figures.voltageText(1.2254), '1.225 V'],
    [figures.millivoltsText(0.0123), '12 mV'],
    [figures.millivoltsText(-0.0031), '-3.1 mV'],
    [figures.percentText(62.5), '62.5 %'],
    [figures.thermalResistanceText(0.11), '0.110 K/W'],
    [figures.thermalResistanceText(0.0045), '0.00450 K/W'],
    [figures.predictedIn(4.71, 'GHz'), '4.71 GHz'],
    [coresText(1), '1 core'],
    [coresText(3, 6), '3 to 6 cores'],
  ])('%s is %s', (written, wanted) => {
    expect(written).toBe(wanted)
  })

  it('never lose a whole digit and never have an exponent', () => {
    for (let exponent = -6; exponent < 9; exponent++) {
      const value = 1.23456 * 10 ** exponent
      const text = figures.significant(value, 3)
      expect(text).not.toMatch(/e/)
      expect(Math.abs(Number(text) - value)).toBeLessThanOrEqual(Math.abs(value) * 0.005)
    }
  })
})
