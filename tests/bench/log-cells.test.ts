import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { findUnit } from '../../grammar/units/units.ts'
import { isNothing, numberIn, timeOfDay, valueIn } from '../../server/bench/log-cells.ts'

const nan = Number.NaN

describe('cells', () => {
  it.each([
    ['4700', '.', 4700],
    ['4700.25', '.', 4700.25],
    ['4700,25', ',', 4700.25],
    ['  -3.5 ', '.', -3.5],
    ['+2e3', '.', 2000],
    ['1.5E-2', '.', 0.015],
    ['.5', '.', 0.5],
    ['5.', '.', 5],
    ['0', '.', 0],
    ['123456789012345678', '.', 123456789012345680],
    ['4700,25', '.', nan],
    ['4700.25', ',', nan],
    ['1.2.3', '.', nan],
    ['.', '.', nan],
    ['', '.', nan],
    ['0x10', '.', nan],
    ['Infinity', '.', nan],
    ['1 2', '.', nan],
    ['1,234.5', '.', nan],
  ] as const)('%j with %j', (cell, decimal, value) => {
    expect(numberIn(cell, decimal)).toEqual(value)
  })

  it('are the doubles that the language itself makes of them', () => {
    const digits = fc.stringMatching(/^\d{1,9}(?:\.\d{1,8})?$/)
    fc.assert(fc.property(digits, text => numberIn(text, '.') === Number(text)))
    fc.assert(fc.property(digits, text => numberIn(text.replace('.', ','), ',') === Number(text)))
  })

  it('come to base units, by their own unit where they have one', () => {
    const [clock, die] = [findUnit('MHz')!, findUnit('°C')!]
    expect(valueIn('4700', clock, '.')).toBe(4.7)
    expect(valueIn('4,7 GHz', clock, ',')).toBe(4.7)
    expect(valueIn('64 degC', die, '.')).toBe(64)
    expect(valueIn('64 K', die, '.')).toBeNaN()
    expect(valueIn('64 of them', die, '.')).toBeNaN()
  })

  it('say nothing in several ways', () => {
    for (const cell of ['', ' ', '-', 'N/A', 'NaN', 'null']) expect(isNothing(cell)).toBe(true)
    for (const cell of ['0', '-1', 'no']) expect(isNothing(cell)).toBe(false)
  })

  it.each([
    ['21:40:03', 78_003],
    ['9:05:00,25', 32_700.25],
    ['2026-01-12T21:40:03.5Z', 78_003.5],
    ['12.01.2026 21:40:03', 78_003],
    ['21:40', nan],
    ['later', nan],
  ] as const)('time of day %j', (cell, seconds) => {
    expect(timeOfDay(cell)).toEqual(seconds)
  })
})
