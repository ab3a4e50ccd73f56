import { describe, expect, test } from 'vitest'
import { leakageWPerVk, powerAt } from '../../server/model/power.ts'
import { growthPerK } from '../../server/model/source.ts'
import { barePart, oneCore } from './bench.ts'

const leaking = (leakageDoublingK: number, leakageExponent = 3) => ({
  ...barePart,
  leakageW: 16,
  leakageAtV: 1.2,
  leakageAtC: 60,
  leakageDoublingK,
  leakageExponent,
})

describe('leakage over temperature', () => {
  test('a rectifier: doubles for every 10 K', () => {
    // R. Stout, ON Semiconductor, in EE Times Europe of 30 August 2011, part 2.
    const part = leaking(10)
    expect(leakageWPerVk(part, 35) / leakageWPerVk(part, 25)).toBeCloseTo(2, 12)
    expect(1 / growthPerK(10)).toBeCloseTo(14.427, 3)
  })

  // Ratios over 60 K, recomputed. No interval for processors could be verified in print: it is a value to fit.
  test.each([
    [8, 181.02],
    [10, 64],
    [12, 32],
    [20, 8],
    [25, 5.278],
  ])('doubling in %d K: over 60 K a factor of %d', (doublingK, factor) => {
    const part = leaking(doublingK)
    const ratio = leakageWPerVk(part, 85) / leakageWPerVk(part, 25)
    expect(Math.abs(ratio / factor - 1)).toBeLessThan(5e-5)
  })

  test('the stated leakage at the stated voltage and temperature, whatever doubling and exponent', () => {
    for (const doublingK of [10, 28, 40])
      for (const exponent of [1, 3, 5])
        expect(powerAt(leaking(doublingK, exponent), oneCore, 1.2, 0, 10, 60).leakageW).toBeCloseTo(16, 11)
  })
})
