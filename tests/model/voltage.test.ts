import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  dieVoltageV,
  interpolateRows,
  isAboveRows,
  needVoltageV,
  roundToStep,
  setVoltageRows,
  setVoltageV,
} from '../../server/model/voltage.ts'
import { board, part } from './benches.ts'

describe('voltage rows', () => {
  it('joins rows by straight lines, is flat below and keeps the last row above', () => {
    expect(interpolateRows(part.needs, 40)).toBeCloseTo(1.05, 12)
    expect(interpolateRows(part.needs, 55)).toBeCloseTo(1.325, 12)
    expect(interpolateRows(part.needs, 12)).toBe(0.9)
    expect(interpolateRows(part.needs, 61)).toBe(1.45)
    expect(isAboveRows(part.needs, 60)).toBe(false)
    expect(isAboveRows(part.needs, 60.5)).toBe(true)
  })

  it('overlays set rows as entered, without the offset', () => {
    const rows = setVoltageRows(part, {
      kind: 'needs',
      offsetV: 0.01,
      set: [
        { ratio: 50, voltageV: 1.19 },
        { ratio: 55, voltageV: 1.3 },
      ],
    })
    expect(rows.map(row => row.ratio)).toEqual([30, 50, 55, 60])
    expect(rows.map(row => row.voltageV)).toEqual([0.91, 1.19, 1.3, 1.46])
    expect(setVoltageV(rows, board, 52.5)).toBeCloseTo(1.245, 12)
  })

  it('rounds a fixed voltage too', () => {
    const rows = setVoltageRows(part, { kind: 'fixed', voltageV: 1.3031 })
    expect(setVoltageV(rows, { ...board, coreVoltageStepV: 0.005 }, 44)).toBe(1.305)
  })
})

describe('rounding to the step', () => {
  it('sends exact halves upward, also where the binary number lies a trace below', () => {
    expect(roundToStep(1.2125, 0.005)).toBe(1.215)
    expect(roundToStep(1.2124, 0.005)).toBe(1.21)
    // 0.9 + 0.3025 is a trace below 1.2025 in binary.
    expect(roundToStep(0.9 + 0.3025 - 1e-13, 0.005)).toBe(1.205)
    expect(roundToStep(1.003125, 0.00625)).toBe(1.00625)
    expect(roundToStep(1.2345678, undefined)).toBe(1.2345678)
  })

  it('gives a multiple of the step no further than half a step away', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 500_000, max: 1_600_000 }),
        fc.constantFrom(1000, 2500, 5000, 6250),
        (volts, step) => {
          const rounded = Math.round(roundToStep(volts / 1e6, step / 1e6) * 1e6)
          expect(rounded % step).toBe(0)
          expect(rounded - volts).toBeLessThanOrEqual(step / 2)
          expect(rounded - volts).toBeGreaterThan(-step / 2)
        },
      ),
    )
  })
})

describe('die voltage behind a load line', () => {
  it('solves on paper without leakage: V = V_set / (1 + R·A)', () => {
    expect(dieVoltageV(1.2, 0.001, 100, 0, 3)).toBeCloseTo(1.2 / 1.1, 14)
    expect(dieVoltageV(1.2, 0, 100, 50, 3)).toBe(1.2)
  })

  it('solves on paper at exponent 1 and 2', () => {
    // V = 1.2 − 0.001·(100·V + 50) and V = 1.2 − 0.001·(100 + 50)·V.
    expect(dieVoltageV(1.2, 0.001, 100, 50, 1)).toBeCloseTo(1.15 / 1.1, 14)
    expect(dieVoltageV(1.2, 0.001, 100, 50, 2)).toBeCloseTo(1.2 / 1.15, 14)
  })

  it('is the one voltage that satisfies the load line, for every exponent and any steepness', () => {
    const volts = fc.double({ min: 0.5, max: 1.6, noNaN: true })
    const logs = (low: number, high: number) => fc.double({ min: low, max: high, noNaN: true }).map(x => 10 ** x)
    const exponent = fc.double({ min: 1.05, max: 8, noNaN: true })
    fc.assert(
      fc.property(volts, logs(-5, 1), logs(0, 3), logs(-2, 6), exponent, (setV, loadLine, dynamic, leakage, k) => {
        const dieV = dieVoltageV(setV, loadLine, dynamic, leakage, k)
        expect(dieV).toBeGreaterThan(0)
        expect(dieV).toBeLessThanOrEqual(setV)
        const current = dynamic * dieV + leakage * dieV ** (k - 1)
        expect(dieV + loadLine * current).toBeCloseTo(setV, 11)
      }),
      { numRuns: 500 },
    )
  })
})

describe('needed voltage', () => {
  it('rises with temperature and under vector loads', () => {
    expect(needVoltageV(part, 50, 60, { vector: false })).toBeCloseTo(1.2, 12)
    expect(needVoltageV(part, 50, 85, { vector: false })).toBeCloseTo(1.21, 12)
    expect(needVoltageV(part, 50, 85, { vector: true })).toBeCloseTo(1.24, 12)
  })
})
