import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import type { Drive, FanPoint, ThermoelectricCooler } from '../../server/model/types.ts'
import { type PlateAt, plateAt } from '../harness/plate-at.ts'
import { corners, fans, plate, plates } from './benches.ts'

/** The plate under a drive; undefined where it has no finite temperature. */
function driven(
  cooler: ThermoelectricCooler,
  fan: readonly FanPoint[],
  airC: number,
  heatW: number,
  drive: Drive,
): PlateAt | undefined {
  const curve = prepareCurve(cooler, { drive, fan }, { airC, humidityPct: 50 })
  const point = { plateC: Number.NaN, slopeKPerW: Number.NaN }
  curve.evaluate(heatW, point)
  return Number.isFinite(point.plateC) ? plateAt(curve, heatW) : undefined
}

const heats = fc.double({ min: 0, max: 400, noNaN: true })
/** Cold enough that no plate of these reaches it. */
const asColdAsCanBe: Drive = { kind: 'hold', temperatureC: -200 }

describe('the coldest current', () => {
  it('over a constant radiator satisfies αTc = iR + …: no current nearby is colder', () => {
    const strong = { ...plate, driveCurrentA: 30 }
    const at = (currentA: number) => driven(strong, [], 24, 150, { kind: 'fixed', currentA })?.plateC ?? Number.NaN
    const found = driven(strong, [], 24, 150, asColdAsCanBe)
    const currentA = found?.driveA ?? Number.NaN
    const plateC = found?.plateC ?? Number.NaN
    expect(currentA).toBeGreaterThan(1)
    expect(currentA).toBeLessThan(29)
    expect(at(currentA)).toBeCloseTo(plateC, 10)
    expect(at(currentA + 0.01)).toBeGreaterThan(plateC)
    expect(at(currentA - 0.01)).toBeGreaterThan(plateC)
  })

  it('is at least as cold as the best of many currents, under any fan table', () => {
    fc.assert(
      fc.property(plates, fans, corners, heats, (made, fan, { airC }, heatW) => {
        const found = driven(made, fan, airC, heatW, asColdAsCanBe)
        if (found === undefined) throw new Error('Without current every plate has a temperature.')
        expect(found.coldestA).toBeCloseTo(found.driveA ?? Number.NaN, 6)
        expect(found.coldestPlateC).toBeCloseTo(found.plateC, 8)
        for (let step = 0; step <= 120; step++) {
          const currentA = (made.driveCurrentA * step) / 120
          const tried = driven(made, fan, airC, heatW, { kind: 'fixed', currentA })
          if (tried === undefined) continue
          expect(tried.plateC).toBeGreaterThan(found.plateC - 1e-7)
          // From wherever it is looked for it is the same.
          if (step % 40 === 0) expect(tried.coldestPlateC).toBeCloseTo(found.plateC, 7)
        }
      }),
      { numRuns: 60 },
    )
  })
})

describe('the current that reaches a target', () => {
  it('is the smallest one, or the coldest where none reaches it', () => {
    const below = fc.double({ min: 0, max: 30, noNaN: true })
    fc.assert(
      fc.property(plates, fans, corners, heats, below, (made, fan, { airC }, heatW, belowK) => {
        const idle = driven(made, fan, airC, heatW, { kind: 'off' })
        const temperatureC = (idle?.plateC ?? Number.NaN) - belowK
        const found = driven(made, fan, airC, heatW, { kind: 'hold', temperatureC })
        if (found?.driveA == null || found.coldestPlateC === null) throw new Error('A held plate has figures.')
        const reached = driven(made, fan, airC, heatW, { kind: 'fixed', currentA: found.driveA })
        expect(Math.abs((reached?.plateC ?? Number.NaN) - found.plateC)).toBeLessThan(1e-7)
        if (found.coldestPlateC > temperatureC + 1e-9) {
          expect(Math.abs(found.plateC - found.coldestPlateC)).toBeLessThan(1e-7)
          expect(found.plate?.isTargetMissed).toBe(found.plateC > temperatureC + 1e-6)
          return
        }
        expect(found.plateC).toBeLessThan(temperatureC + 1e-8)
        expect(found.plate?.isTargetMissed).toBe(false)
        for (let step = 0; step < 60; step++) {
          const currentA = (found.driveA * step) / 60
          const tried = driven(made, fan, airC, heatW, { kind: 'fixed', currentA })
          expect(tried?.plateC).toBeGreaterThan(temperatureC - 1e-8)
        }
      }),
      { numRuns: 100 },
    )
  })

  it('is zero where the plate is cold enough without', () => {
    const still = driven(plate, [], 20, 10, { kind: 'hold', temperatureC: 40 })
    expect(still?.driveA).toBe(0)
    expect(still?.plateC).toBeLessThan(40)
  })

  it('is found on the very edge of what is held, and without any heat', () => {
    // A target at just the temperature without current, and one that nothing reaches, at no heat at all.
    const edge = { ...plate, modules: 1, conductanceWPerK: 1.7234374925554603, driveCurrentA: 0.5 }
    for (let heatW = 0; heatW <= 400; heatW += 12.5) {
      for (let part = 0; part < 8; part++) {
        const airC = 20 + part * 0.7689
        const idleC = driven(edge, [], airC, heatW, { kind: 'off' })?.plateC ?? Number.NaN
        const found = driven(edge, [], airC, heatW, { kind: 'hold', temperatureC: idleC })
        expect(found?.plateC).toBeCloseTo(idleC, 9)
        expect(found?.driveA).toBeLessThan(1e-6)
        expect(driven(edge, [], airC, heatW, asColdAsCanBe)?.plateC).toBeLessThan(idleC)
      }
    }
  })
})
