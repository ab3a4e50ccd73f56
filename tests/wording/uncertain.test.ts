import { describe, expect, it } from 'vitest'
import { findUnit } from '../../grammar/units/units.ts'
import { withUncertainty } from '../../server/wording/uncertain.ts'

describe('a value with its uncertainty', () => {
  it.each([
    [2.1043, 0.0187, 'nF', '2.104 nF ± 0.019 nF'],
    [16.04, 1.23, 'W', '16.0 W ± 1.2 W'],
    [0.10843, 0.00052, 'K/W', '0.10843 K/W ± 0.00052 K/W'],
    [0.0004, 0.00005, 'mV/K', '0.400 mV/K ± 0.050 mV/K'],
    [155.2, 23.4, 'W', '155 W ± 23 W'],
    [3.512, 0.081, undefined, '3.512 ± 0.081'],
  ] as const)('%d ± %d in %s is written %s', (value, u, symbol, text) => {
    expect(withUncertainty(value, u, symbol === undefined ? undefined : findUnit(symbol))).toBe(text)
  })

  it.each([
    [Number.NaN, 1],
    [1, Number.NaN],
    [1, Number.POSITIVE_INFINITY],
  ])('is never written where there is none: %d ± %d', (value, u) => {
    expect(() => withUncertainty(value, u, findUnit('nF'))).toThrow(RangeError)
  })
})
