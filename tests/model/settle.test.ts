import { isDeepStrictEqual } from 'node:util'
import { describe, expect, it } from 'vitest'
import { settle } from '../../server/model/settle.ts'
import { coolingShape } from '../../server/model/shapes.ts'
import type { Bench, Corner, Load, Settled } from '../../server/model/types.ts'
import { makeChilled } from '../harness/make.ts'
import { sampleOf, wantedOf } from '../oracle/generate.ts'
import { benchWith, corner, plate, risingFan, work } from './benches.ts'

function settled(bench: Bench, load: Load = work, where: Corner = corner): Settled {
  const found = settle(bench, load, where)
  if (found === null) throw new Error('A step row covers every load of this file.')
  return found
}

const idle: Load = { kind: 'idle' }
const off: Load = { kind: 'off' }
const held = { drive: { kind: 'dew', marginK: 2 } as const, fan: risingFan }

describe('idle and off', () => {
  it('have powers and temperatures, but no clock, voltage or current', () => {
    const still = settled(benchWith(), idle)
    expect(still).toMatchObject({ state: 'steady', limiter: 'none', powerW: 9 })
    expect(still.dieC).toBeCloseTo(25 + 0.195 * 9, 12)
    expect(still.plateC).toBeCloseTo(25 + 0.095 * 9, 12)
    for (const key of [
      'ratio',
      'ratioLow',
      'ratioHigh',
      'shareHigh',
      'clockMhz',
      'setV',
      'voltageV',
      'needV',
      'currentA',
      'dynamicW',
      'leakageW',
    ] as const) {
      expect(still[key]).toBeNull()
    }
    const dark = settled(benchWith(), off)
    expect(dark).toMatchObject({ powerW: 0, dieC: 25, plateC: 25, limiter: 'none' })
  })

  it('drive the plate as the profile says', () => {
    const guarded = settled(benchWith({ cooler: plate, profile: held }), off)
    expect(guarded.plateC).toBeCloseTo(guarded.wetC + 2, 9)
    expect(guarded.dieC).toBe(guarded.plateC)
    expect(guarded.driveA).toBeGreaterThan(0)
    const undriven = settled(benchWith({ cooler: plate, profile: { ...held, drive: { kind: 'off' } } }), off)
    expect(undriven).toMatchObject({ driveA: 0, driveW: 0 })
    expect(undriven.plateC).toBeCloseTo(25, 12)
  })
})

describe('a thermoelectric plate', () => {
  it('rests on its target and balances its heat', () => {
    const load: Load = { kind: 'work', cores: 2, activity: 1, vector: false }
    const guarded = settled(benchWith({ cooler: plate, profile: held }), load)
    expect(guarded.plateC).toBeCloseTo(guarded.wetC + 2, 9)
    expect(guarded.driveA).toBeGreaterThan(0)
    expect(guarded.driveA).toBeLessThan(9)
    expect(guarded.driveA).toBeLessThanOrEqual(guarded.notes.coldestA ?? 0)
    // All that goes in leaves through block and radiator.
    const outW = (guarded.powerW ?? 0) + (guarded.driveW ?? 0)
    expect((guarded.notes.hotC ?? 0) - (guarded.coolantC ?? 0)).toBeCloseTo(0.03 * outW, 9)
  })

  it('gives its best where the target is out of reach', () => {
    const full = settled(
      benchWith({
        cooler: { ...plate, driveCurrentA: 40 },
        profile: { ...held, drive: { kind: 'hold', temperatureC: -20 } },
      }),
    )
    expect(full.driveA).toBeCloseTo(full.notes.coldestA ?? 0, 6)
    expect(full.driveA).toBeLessThan(40)
    expect(full.plateC).toBeGreaterThan(-20)
    expect(full.plateC).toBeCloseTo(full.notes.coldestPlateC ?? 0, 9)
  })

  it('has no steady state where the drive heats more than the radiator takes', () => {
    const wild = benchWith({ cooler: { ...plate, driveCurrentA: 400 } })
    expect(settled(wild)).toMatchObject({ state: 'runaway', limiter: 'die-limit', dieC: null, marginW: null })
    expect(settled(wild, idle)).toMatchObject({ state: 'runaway', limiter: 'none', powerW: null })
  })
})

describe('other coolers', () => {
  it('chilled coolant has the duty of the fan table, and no drive', () => {
    const cooler = makeChilled({
      coolantC: 8,
      capacityW: 350,
      beyondKPerW: 0.08,
      blockResistanceKPerW: 0.05,
      plateHeatJPerK: 150,
    })
    const cold = settled(benchWith({ cooler }), idle)
    expect(cold).toMatchObject({ coolantC: 8, fanPct: 100, driveA: null, driveW: null })
    expect(cold.plateC).toBeCloseTo(8.45, 12)
  })

  it('tell a fan that runs below the radiator’s data', () => {
    const slow = settled(benchWith({ profile: { fan: [{ coolantC: 80, dutyPct: 15 }] } }))
    expect(slow.fanPct).toBe(15)
    expect(slow.notes.fanBelowData).toBe(true)
    expect(settled(benchWith()).fanPct).toBe(100)
    expect(settled(benchWith()).notes.fanBelowData).toBe(false)
  })
})

describe('voltages', () => {
  it('are the set voltage, what the die sees and what it needs', () => {
    const steady = settled(
      benchWith({
        board: { loadLineOhm: 0.0004, coreVoltageStepV: 0.005 },
        profile: { voltage: { kind: 'needs', offsetV: 0.012, set: [] } },
      }),
    )
    expect(steady.setV).toBe(1.21)
    expect(steady.voltageV).toBeCloseTo(1.21 - 0.0004 * (steady.currentA ?? 0), 10)
    expect(steady.needV).toBeCloseTo(1.2 + 0.0004 * ((steady.dieC ?? 0) - 60), 12)
    expect(steady.notes.voltages).toEqual([{ ratio: 50, setV: 1.21, voltageV: steady.voltageV, needV: steady.needV }])
  })

  it('of the faster ratio are named where the clock alternates, and the die voltage is the mean', () => {
    const mixed = settled(benchWith({ profile: { limits: { sustainedPowerW: 120 } } }))
    const [fast, slow] = mixed.notes.voltages
    expect(mixed.state).toBe('alternating')
    expect(mixed.setV).toBe(fast?.setV)
    expect(fast?.ratio).toBe(mixed.ratioHigh)
    expect(slow?.ratio).toBe(mixed.ratioLow)
    const share = mixed.shareHigh ?? Number.NaN
    expect(mixed.voltageV).toBeCloseTo(share * (fast?.voltageV ?? 0) + (1 - share) * (slow?.voltageV ?? 0), 12)
  })

  it('say where a step lies beyond what was measured', () => {
    const steps = [{ fromCores: 1, toCores: 8, ratio: 60 }]
    expect(settled(benchWith({ profile: { steps } })).notes.needsShort).toBe(false)
    const short = settled(benchWith({ part: { needs: [{ ratio: 40, voltageV: 1.05 }] }, profile: { steps } }))
    expect(short.notes.needsShort).toBe(true)
    expect(short.setV).toBe(1.05)
  })
})

describe('memory', () => {
  it('answers the same for the same bench again, and afresh for a changed one', () => {
    const bench = benchWith()
    expect(settled(bench)).toEqual(settled(bench))
    const warmer = settled(bench, work, { airC: 30, humidityPct: 50 })
    expect(warmer.dieC).toBeGreaterThan((settled(bench).dieC ?? 0) + 5)
    for (let airC = 0; airC < 40; airC++) settled(bench, work, { airC, humidityPct: 50 })
    expect(settled(bench, work, { airC: 30, humidityPct: 50 })).toEqual(warmer)
  })
})

describe('a prediction', () => {
  it('is the same to the last digit, whatever else was asked of the bench before', () => {
    const apart: string[] = []
    for (let seed = 0; seed < 280; seed++) {
      const { bench, load, corner: where } = sampleOf(seed, wantedOf(seed))
      const alone = settle({ ...bench }, load, where)
      const used = { ...bench }
      const others: readonly Load[] = [{ kind: 'idle' }, { kind: 'work', cores: 1, activity: 0.6, vector: true }]
      for (const other of others) settle(used, other, where)
      settle(used, load, { ...where, humidityPct: Math.min(100, where.humidityPct + 3) })
      coolingShape(used, load, where, settle(used, load, where) as Settled)
      if (!isDeepStrictEqual(settle(used, load, where), alone)) apart.push(`seed ${seed}`)
    }
    expect(apart).toEqual([])
  })
})
