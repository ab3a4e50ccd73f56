import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { PlateCurve } from '../../server/model/cooler/curve.ts'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import { makeChilled } from '../harness/make.ts'
import { plateAt } from '../harness/plate-at.ts'
import { coolers, corner, corners, drives, fans, loop, plate } from './benches.ts'

function valueAt(curve: PlateCurve, heatW: number): number {
  const point = { plateC: Number.NaN, slopeKPerW: Number.NaN }
  curve.evaluate(heatW, point)
  return point.plateC
}

const curves = fc
  .tuple(coolers, drives, fans, corners)
  .map(([cooler, drive, fan, where]) => prepareCurve(cooler, { drive, fan }, where))
const heats = fc.double({ min: 0, max: 500, noNaN: true })
/** A margin also asks about heats below nothing. */
const anyHeats = fc.double({ min: -150, max: 500, noNaN: true })

describe('plate temperature over heat', () => {
  it('never falls with heat, for any cooler, drive and fan table', () => {
    fc.assert(
      fc.property(curves, anyHeats, fc.double({ min: 0, max: 100, noNaN: true }), (curve, heatW, moreW) => {
        const before = valueAt(curve, heatW)
        const after = valueAt(curve, heatW + moreW)
        if (before === Number.POSITIVE_INFINITY) expect(after).toBe(before)
        else expect(after).toBeGreaterThan(before - 1e-8)
      }),
      { numRuns: 400 },
    )
  })

  it('rises no slower and no faster between two heats than the bounds say', () => {
    fc.assert(
      fc.property(curves, anyHeats, fc.double({ min: 1e-3, max: 150, noNaN: true }), (curve, heatW, moreW) => {
        const low = curve.slopeLow(heatW, heatW + moreW)
        const before = valueAt(curve, heatW)
        const after = valueAt(curve, heatW + moreW)
        if (!Number.isFinite(after)) return
        expect(after - before).toBeGreaterThan(low * moreW - 1e-8)
        const high = curve.slopeHigh(heatW, heatW + moreW)
        if (high < Number.POSITIVE_INFINITY) expect(after - before).toBeLessThan(high * moreW + 1e-8)
      }),
      { numRuns: 400 },
    )
  })

  it('is read backwards: the heat found gives the temperature asked for', () => {
    fc.assert(
      fc.property(curves, heats, (curve, heatW) => {
        const temperatureC = valueAt(curve, heatW) + 0.1 * heatW
        if (!Number.isFinite(temperatureC)) return
        const found = curve.heatAt(0.1, temperatureC)
        expect(Math.abs(found - heatW)).toBeLessThan(1e-7 * (1 + heatW))
      }),
      { numRuns: 400 },
    )
  })
})

describe('by hand', () => {
  it('a loop under a fan table goes on straight below no heat', () => {
    const fan = [
      { coolantC: 20, dutyPct: 30 },
      { coolantC: 40, dutyPct: 100 },
    ]
    const curve = prepareCurve(loop, { drive: { kind: 'full' }, fan }, corner)
    const at = (heatW: number) => {
      const point = { plateC: Number.NaN, slopeKPerW: Number.NaN }
      curve.evaluate(heatW, point)
      return point
    }
    expect(at(-80).slopeKPerW).toBeCloseTo((at(-79).plateC - at(-81).plateC) / 2, 12)
    expect(at(-80).slopeKPerW).toBeCloseTo(at(0).slopeKPerW, 12)
  })

  it('a loop adds radiator and block', () => {
    const curve = prepareCurve(loop, { drive: { kind: 'full' }, fan: [] }, corner)
    expect(valueAt(curve, 200)).toBeCloseTo(25 + 200 * (0.045 + 0.05), 12)
    expect(curve.linear).toBe(true)
  })

  it('chilled coolant holds up to its capacity and warms beyond', () => {
    const cooler = makeChilled({
      coolantC: 8,
      capacityW: 300,
      beyondKPerW: 0.08,
      blockResistanceKPerW: 0.05,
      plateHeatJPerK: 150,
    })
    const curve = prepareCurve(cooler, { drive: { kind: 'full' }, fan: [] }, corner)
    expect(valueAt(curve, 300)).toBeCloseTo(23, 12)
    expect(valueAt(curve, 350)).toBeCloseTo(8 + 50 * 0.08 + 350 * 0.05, 12)
  })

  it('a plate held at a target is warm without current, then level, then as cold as it can be', () => {
    const curve = prepareCurve(plate, { drive: { kind: 'hold', temperatureC: 30 }, fan: [] }, corner)
    const idleToW = prepareCurve(plate, { drive: { kind: 'off' }, fan: [] }, corner).heatAt(0, 30)
    const heldToW = curve.heldToW ?? Number.NaN
    expect(idleToW).toBeGreaterThan(0)
    expect(heldToW).toBeGreaterThan(idleToW)
    expect(valueAt(curve, idleToW / 2)).toBeLessThan(30)
    expect(valueAt(curve, idleToW)).toBeCloseTo(30, 9)
    expect(valueAt(curve, (idleToW + heldToW) / 2)).toBe(30)
    expect(valueAt(curve, heldToW)).toBeCloseTo(30, 9)
    expect(valueAt(curve, heldToW + 1)).toBeGreaterThan(30.05)
    // The most heat that any current holds is what the coldest current at that heat holds.
    expect(plateAt(curve, heldToW).coldestPlateC).toBeCloseTo(30, 9)
  })
})
