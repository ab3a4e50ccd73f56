import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  baseUnit,
  canonicalUnit,
  type Dimension,
  findUnit,
  fromBase,
  toBase,
  units,
  unitsOf,
} from '../../grammar/units/units.ts'
import { read } from './helpers.ts'

/**
 * One written value of every unit and what it is in the unit the model counts in. The prefixes are those of the
 * International System of Units (BIPM, SI Brochure, 9th edition, table 7): k 10³, M 10⁶, G 10⁹, m 10⁻³, µ 10⁻⁶,
 * n 10⁻⁹, p 10⁻¹²; the minute and the hour are 60 s and 3600 s (table 8); a kelvin is as large as a degree Celsius.
 */
const conversions: readonly (readonly [
  value: number,
  unit: string,
  base: number,
  baseUnit: string,
  dimension: Dimension,
])[] = [
  [1.25, 'V', 1.25, 'V', 'voltage'],
  [10, 'mV', 0.01, 'V', 'voltage'],
  [250, 'µV', 0.00025, 'V', 'voltage'],
  [7, 'A', 7, 'A', 'current'],
  [1500, 'mA', 1.5, 'A', 'current'],
  [190, 'W', 190, 'W', 'power'],
  [2500, 'mW', 2.5, 'W', 'power'],
  [1.2, 'kW', 1200, 'W', 'power'],
  [38, '°C', 38, '°C', 'temperature'],
  [3, 'K', 3, 'K', 'temperature-difference'],
  [500, 'mK', 0.5, 'K', 'temperature-difference'],
  [4.7, 'GHz', 4.7, 'GHz', 'frequency'],
  [100, 'MHz', 0.1, 'GHz', 'frequency'],
  [250_000, 'kHz', 0.25, 'GHz', 'frequency'],
  [3_000_000_000, 'Hz', 3, 'GHz', 'frequency'],
  [0.8, 'Ω', 0.8, 'Ω', 'resistance'],
  [0.4, 'mΩ', 0.0004, 'Ω', 'resistance'],
  [400, 'µΩ', 0.0004, 'Ω', 'resistance'],
  [2.1, 'nF', 2.1, 'nF', 'capacitance'],
  [0.002, 'µF', 2, 'nF', 'capacitance'],
  [1600, 'pF', 1.6, 'nF', 'capacitance'],
  [0.11, 'K/W', 0.11, 'K/W', 'thermal-resistance'],
  [110, 'mK/W', 0.11, 'K/W', 'thermal-resistance'],
  [0.11, '°C/W', 0.11, 'K/W', 'thermal-resistance'],
  [1.4, 'W/K', 1.4, 'W/K', 'thermal-conductance'],
  [1.4, 'W/°C', 1.4, 'W/K', 'thermal-conductance'],
  [1400, 'mW/K', 1.4, 'W/K', 'thermal-conductance'],
  [150, 'J/K', 150, 'J/K', 'heat-capacity'],
  [4.2, 'kJ/K', 4200, 'J/K', 'heat-capacity'],
  [0.053, 'V/K', 0.053, 'V/K', 'voltage-per-kelvin'],
  [53, 'mV/K', 0.053, 'V/K', 'voltage-per-kelvin'],
  [400, 'µV/K', 0.0004, 'V/K', 'voltage-per-kelvin'],
  [30, 's', 30, 's', 'time'],
  [1500, 'ms', 1.5, 's', 'time'],
  [12, 'min', 720, 's', 'time'],
  [2, 'h', 7200, 's', 'time'],
  [55, '%', 55, '%', 'percent'],
  [52.5, 'x', 52.5, 'x', 'ratio'],
]

describe('units', () => {
  it.each(conversions)('%d %s is %d %s', (value, symbol, base, wantedBase, dimension) => {
    const unit = findUnit(symbol)!
    expect(unit.dimension).toBe(dimension)
    expect(baseUnit[dimension]).toBe(wantedBase)
    expect(toBase(value, unit)).toBeCloseTo(base, 12)
  })

  it('converts every unit of the table above', () => {
    expect(conversions.map(([, symbol]) => symbol).toSorted()).toEqual(units.map(unit => unit.symbol).toSorted())
  })

  it('comes back to what was written', () => {
    fc.assert(
      fc.property(fc.constantFrom(...units), fc.double({ min: 1e-3, max: 1e6, noNaN: true }), (unit, value) => {
        expect(Math.abs(fromBase(toBase(value, unit), unit) - value)).toBeLessThanOrEqual(value * 1e-15 * 4)
      }),
    )
  })

  it('reads sub-multiples as the same double as the decimal', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 5000 }), millis => {
        expect(toBase(millis, findUnit('mV')!)).toBe(
          Number(`${Math.floor(millis / 1000)}.${String(millis % 1000).padStart(3, '0')}`),
        )
      }),
    )
  })

  it.each([
    ['degC', '°C'],
    ['℃', '°C'],
    ['º' + 'C', '°C'],
    ['\u03bcV', '\u00b5V'],
    ['\u2126', '\u03a9'],
    ['m\u2126', 'm\u03a9'],
    ['mohm', 'm\u03a9'],
    ['ohm', '\u03a9'],
    ['Ohm', '\u03a9'],
    ['\u03bcohm', '\u00b5\u03a9'],
    ['℃/W', '°C/W'],
    ['W/degC', 'W/°C'],
    ['W/℃', 'W/°C'],
    ['\u03bcV/K', '\u00b5V/K'],
  ])('reads %s as %s', (variant, canonical) => {
    expect(canonicalUnit(variant)).toBe(canonical)
    expect(findUnit(variant)?.symbol).toBe(canonical)
    // The lexer takes the whole of it for one unit, too.
    const { file } = read(`note 1 ${variant}`)
    expect(file.chunks[0]!.chunk.tokens.map(token => [token.kind, token.canonical])).toEqual([
      ['word', 'note'],
      ['number', '1'],
      ['unit', canonical],
    ])
  })

  it.each([
    'v',
    'MV',
    'Mhz',
    'ghz',
    'w',
    'k',
    'S',
    'H',
    'C',
    'c',
    '°',
    '°F',
    'X',
    'cores',
    '',
    'constructor',
    '__proto__',
  ])('does not know %j', text => {
    expect(findUnit(text)).toBeUndefined()
  })

  it('lists the units of a dimension with the base unit first', () => {
    for (const [dimension, base] of Object.entries(baseUnit)) {
      const list = unitsOf(dimension as Dimension)
      expect(list[0]?.symbol).toBe(base)
      expect(list.every(unit => unit.dimension === dimension)).toBe(true)
    }
  })
})
