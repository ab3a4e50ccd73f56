import { describe, expect, test } from 'vitest'
import { dynamicWPerV2, powerAt } from '../../server/model/power.ts'
import { barePart, oneCore } from './bench.ts'

/** Dynamic power of one core at a voltage and a clock in GHz, through the model's own door. */
function dynamicAt(volts: number, ghz: number, switchingNf = 1): number {
  return powerAt({ ...barePart, switchingNf }, oneCore, volts, 0, ghz / barePart.referenceGhz, 50).dynamicW
}

describe('P = α C V² f in printed examples', () => {
  test('15 % less voltage and clock: energy 0.72, power 0.61', () => {
    // Hennessy and Patterson, Computer Architecture: A Quantitative Approach, ch. 1: figures from memory.
    // A near-copy on a homework page (justaaa.com) prints 0.7225.
    expect(dynamicAt(0.85, 1) / dynamicAt(1, 1)).toBeCloseTo(0.7225, 12)
    expect(dynamicAt(0.85, 0.85) / dynamicAt(1, 1)).toBeCloseTo(0.614125, 12)
    expect((dynamicAt(0.85, 0.85) / dynamicAt(1, 1)).toFixed(2)).toBe('0.61')
  })

  test('the same with 14 % less clock: 0.62135', () => {
    // Printed on that homework page.
    expect(dynamicAt(0.85, 0.86) / dynamicAt(1, 1)).toBeCloseTo(0.62135, 12)
  })

  test('15 % less capacitance, voltage and clock: 0.52', () => {
    // Patterson and Hennessy, Computer Organization and Design, ch. 1: inputs from public lecture notes, the printed
    // answer from memory, 0.85⁴ recomputed.
    const ratio = dynamicAt(0.85, 0.85, 0.85) / dynamicAt(1, 1)
    expect(ratio).toBeCloseTo(0.52200625, 12)
    expect(ratio.toFixed(2)).toBe('0.52')
  })

  test('1.6 GHz at 1.484 V against 0.6 GHz at 0.956 V: a factor of 6.4', () => {
    // Sentence of an encyclopedia on a mobile part, read in a copy.
    expect((dynamicAt(1.484, 1.6) / dynamicAt(0.956, 0.6)).toFixed(1)).toBe('6.4')
  })
})

describe('a chip of a thousand million transistors', () => {
  // Weste and Harris, CMOS VLSI Design, 4th ed., ch. 5: inputs as quoted in public question threads (askfilo.com; λ in a
  // sibling on tutorbin), printed answers from memory, recomputed.
  const widthUm = (lambdas: number): number => lambdas * 0.025
  const perUm = (1.0 + 0.8) * 1e-15
  const logicNf = 50e6 * widthUm(12) * perUm * 1e9
  const memoryNf = 950e6 * widthUm(4) * perUm * 1e9

  test('switches 27 nF of logic and 171 nF of memory, and draws 6.1 W at 1.0 V and 1 GHz', () => {
    expect(logicNf).toBeCloseTo(27, 9)
    expect(memoryNf).toBeCloseTo(171, 9)
    const watts =
      dynamicWPerV2({ ...barePart, switchingNf: logicNf }, 1, 0.1, 10) +
      dynamicWPerV2({ ...barePart, switchingNf: memoryNf }, 1, 0.02, 10)
    expect(watts).toBeCloseTo(6.12, 9)
    expect(watts.toFixed(1)).toBe('6.1')
  })

  test('leaks 859 mW, which the model takes as its leakage and adds', () => {
    const normalUm = 50e6 * widthUm(12) * 0.05
    const highUm = 50e6 * widthUm(12) * 0.95 + 950e6 * widthUm(4)
    const halfA = (perUmNa: number, um: number): number => (um * perUmNa * 1e-9) / 2
    const thresholdA = halfA(100, normalUm) + halfA(10, highUm)
    const gateA = halfA(5, normalUm + highUm)
    expect(thresholdA).toBeCloseTo(0.58375, 9)
    expect(gateA).toBeCloseTo(0.275, 9)
    const leakageW = thresholdA + gateA
    expect((leakageW * 1000).toFixed(0)).toBe('859')
    const part = { ...barePart, leakageW, leakageAtV: 1, leakageAtC: 25, switchingNf: logicNf }
    const at = powerAt(part, { cores: 1, activity: 0.1 }, 1, 0, 10, 25)
    expect(at.powerW).toBeCloseTo(2.7 + 0.85875, 9)
    expect(at.currentA).toBeCloseTo(2.7 + 0.85875, 9)
  })
})
