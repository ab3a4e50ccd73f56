import { describe, expect, it } from 'vitest'
import * as figures from '../../server/features/figures.ts'

describe('figures', () => {
  it.each([
    [figures.clock(5412.4), '5.41 GHz'],
    [figures.clock(5400), '5.40 GHz'],
    [figures.clock(800), '800 MHz'],
    [figures.clock(999.9), '1.00 GHz'],
    [figures.clock(null), '-'],
    [figures.ratio(49.5), '49.5x'],
    [figures.ratio(54), '54x'],
    [figures.ratio(53.6237), '53.62x'],
    [figures.temperature(71.24), '71.2 °C'],
    [figures.temperature(-0.04), '0.0 °C'],
    [figures.temperature(Number.POSITIVE_INFINITY), '-'],
    [figures.power(188.4), '188 W'],
    [figures.power(1234.4), '1234 W'],
    [figures.power(9.5), '9.50 W'],
    [figures.power(-0.0001), '0 W'],
    [figures.power(99.97), '100 W'],
    [figures.current(0), '0 A'],
    [figures.voltage(1.2254), '1.225 V'],
    [figures.millivolts(0.0123), '12 mV'],
    [figures.millivolts(-0.0031), '-3.1 mV'],
    [figures.percent(62.5), '62.5 %'],
    [figures.thermalResistance(0.11), '0.110 K/W'],
    [figures.thermalResistance(0.0045), '0.00450 K/W'],
    [figures.inUnit(4.71, 'GHz'), '4.71 GHz'],
    [figures.cores(1), '1 core'],
    [figures.cores(3, 6), '3 to 6 cores'],
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
