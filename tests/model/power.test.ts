import { describe, expect, it } from 'vitest'
import { dynamicWPerV2, leakageWPerVk, powerAt } from '../../server/model/power.ts'
import { part } from './benches.ts'

const load = { cores: 8, activity: 1 }
const bare = { ...part, leakageW: 0, sharedPowerW: 0 }

describe('dynamic power', () => {
  it('reproduces the worked chip of Weste & Harris, CMOS VLSI Design 4e, ch. 5 (printed answer 6.1 W, from memory)', () => {
    // 50 M logic transistors 12 λ wide at activity 0.1 and 950 M of memory 4 λ wide at 0.02; λ = 25 nm, 1.8 fF/µm.
    const chip = (count: number, width: number) => ({
      ...bare,
      referenceGhz: 1,
      switchingNf: count * width * 0.025 * 1.8e-6,
    })
    const logic = chip(50e6, 12)
    const memory = chip(950e6, 4)
    expect(logic.switchingNf).toBeCloseTo(27, 10)
    expect(memory.switchingNf).toBeCloseTo(171, 10)
    const logicW = powerAt(logic, { cores: 1, activity: 0.1 }, 1, 0, 1, 60).powerW
    const memoryW = powerAt(memory, { cores: 1, activity: 0.02 }, 1, 0, 1, 60).powerW
    expect(logicW + memoryW).toBeCloseTo(6.12, 10)
    expect(Math.abs(logicW + memoryW - 6.1)).toBeLessThan(0.05)
  })

  it('falls to 0.61 at 15 % less voltage and clock (Hennessy & Patterson, ch. 1, printed answer from memory)', () => {
    const before = powerAt(bare, load, 1, 0, 40, 60).powerW
    const after = powerAt(bare, load, 0.85, 0, 34, 60).powerW
    expect(after / before).toBeCloseTo(0.614125, 12)
  })

  it('falls to 0.52 with 15 % less capacitance as well (Patterson & Hennessy, Computer Organization, ch. 1, from memory)', () => {
    const before = powerAt(bare, load, 1, 0, 40, 60).powerW
    const after = powerAt({ ...bare, switchingNf: bare.switchingNf * 0.85 }, load, 0.85, 0, 34, 60).powerW
    expect(after / before).toBeCloseTo(0.85 ** 4, 12)
  })

  it('counts cores and activity', () => {
    expect(dynamicWPerV2(part, 3, 0.5, 50)).toBeCloseTo(3 * 0.5 * 2 * 5, 12)
  })
})

describe('leakage', () => {
  it('doubles with every doubling interval and follows the voltage to its exponent', () => {
    const at = (dieC: number, volts: number) => powerAt({ ...part, switchingNf: 0 }, load, volts, 0, 50, dieC).leakageW
    expect(at(60, 1.2)).toBeCloseTo(16, 12)
    expect(at(88, 1.2)).toBeCloseTo(32, 12)
    expect(at(32, 1.2)).toBeCloseTo(8, 12)
    expect(at(60, 0.6)).toBeCloseTo(2, 12)
    // Over 60 K: doubling every 8 K gives 181.02, every 12 K gives 32.
    const growth = (leakageDoublingK: number) =>
      leakageWPerVk({ ...part, leakageDoublingK }, 120) / leakageWPerVk({ ...part, leakageDoublingK }, 60)
    expect(growth(8)).toBeCloseTo(181.02, 2)
    expect(growth(12)).toBeCloseTo(32, 10)
  })

  it('draws its current at the die voltage, shared power apart', () => {
    const point = powerAt(part, load, 1.2, 0.001, 50, 70)
    expect(point.powerW).toBeCloseTo(point.dynamicW + point.leakageW + 14, 10)
    expect(point.currentA).toBeCloseTo((point.dynamicW + point.leakageW) / point.voltageV, 10)
    expect(point.voltageV).toBeCloseTo(1.2 - 0.001 * point.currentA, 10)
  })
})
