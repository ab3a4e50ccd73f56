import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { findUnit } from '../../../grammar/units/units.ts'
import { createDays, isNothing, numberIn, timeStamp, valueIn } from '../../../server/bench/log/cells.ts'

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
    ['1e30', '.', 1e30],
    ['1e31', '.', nan],
    ['-1e999', '.', nan],
    ['9'.repeat(400), ',', nan],
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
    ['21:40:03', 78_003, '', 86_400],
    ['9:05:00,25', 32_700.25, '', 86_400],
    ['2026-01-12T21:40:03.5Z', 78_003.5, '2026-01-12', 0],
    ['12.01.2026 21:40:03', 78_003, '12.01.2026', 0],
    ['01/12/2026, 21:40', 78_000, '01/12/2026', 0],
    ['12-Jan-2026 09:40:03 PM', 78_003, '12-Jan-2026', 0],
    ['12:00:01 AM', 1, '', 86_400],
    ['12:00:01 pm', 43_201, '', 86_400],
    ['125:00:30', 450_030, '', 86_400],
    ['21:40', 1300, '', 3600],
    ['75:09.5', 4509.5, '', 3600],
  ] as const)('time %j', (cell, seconds, date, wrapS) => {
    expect(timeStamp(cell)).toMatchObject({ seconds, date, wrapS })
  })

  it('are no times where they cannot be some', () => {
    for (const cell of ['later', '21:60:00', '21:40:75', '25:00:00 PM', '2026-01-12 25:00:00', '12']) {
      expect(timeStamp(cell)).toBeUndefined()
    }
  })

  it('say how far a time is ahead of UTC', () => {
    expect(timeStamp('2026-01-12T21:40:03+05:30')?.aheadS).toBe(19_800)
    expect(timeStamp('2026-01-12T21:40:03-0800')?.aheadS).toBe(-28_800)
  })

  it.each([
    [
      ['2026-01-12', '2026-01-13', '2026-02-01'],
      [0, 1, 20],
    ],
    [
      ['31.12.2025', '01.01.2026', '02.01.2026'],
      [0, 1, 2],
    ],
    [
      ['01/12/2026', '01/13/2026'],
      [0, 1],
    ],
    // Which stands first shows only where the date changes.
    [
      ['05/06/2026', '06/06/2026', '07/06/2026'],
      [0, 1, 2],
    ],
    [
      ['06/05/2026', '06/06/2026', '06/07/2026'],
      [0, 1, 2],
    ],
    [
      ['28-Feb-2026', '01-Mar-2026'],
      [0, 1],
    ],
    [
      ['no date', '99/99/2026'],
      [Number.NaN, Number.NaN],
    ],
  ] as const)('dates %j', (dates, days) => {
    const daysOf = createDays()
    expect(dates.map(daysOf)).toEqual(days)
  })
})
