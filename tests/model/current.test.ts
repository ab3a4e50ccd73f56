import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { coldestCurrent, reachingCurrent } from '../../server/model/current.ts'
import { type Coolant, prepareCoolant, radiatorLaw } from '../../server/model/fan.ts'
import { emptyPlatePoint, solvePlate, type Thermoelectric } from '../../server/model/thermoelectric.ts'
import { corners, fans, plate, plates } from './benches.ts'

const point = emptyPlatePoint()
const choice = { currentA: 0, plateC: 0, atNode: false }

function plateAt(made: Thermoelectric, coolant: Coolant, currentA: number, heatW: number): number {
  solvePlate(made, coolant, currentA, heatW, point)
  return point.plateC
}

const heats = fc.double({ min: 0, max: 400, noNaN: true })

describe('the coldest current', () => {
  it('over a constant radiator satisfies αTc = iR + …: no current nearby is colder', () => {
    const coolant = prepareCoolant(radiatorLaw(plate.radiator), [], 24)
    coldestCurrent(plate, coolant, 30, 150, choice)
    const { currentA, plateC } = { ...choice }
    expect(currentA).toBeGreaterThan(1)
    expect(currentA).toBeLessThan(29)
    expect(plateAt(plate, coolant, currentA, 150)).toBeCloseTo(plateC, 10)
    expect(plateAt(plate, coolant, currentA + 0.01, 150)).toBeGreaterThan(plateC)
    expect(plateAt(plate, coolant, currentA - 0.01, 150)).toBeGreaterThan(plateC)
  })

  it('is at least as cold as the best of many currents, under any fan table', () => {
    fc.assert(
      fc.property(plates, fans, corners, heats, (made, fan, { airC }, heatW) => {
        const coolant = prepareCoolant(radiatorLaw(made.radiator), fan, airC)
        coldestCurrent(made, coolant, made.driveCurrentA, heatW, choice)
        const found = { ...choice }
        expect(Math.abs(plateAt(made, coolant, found.currentA, heatW) - found.plateC)).toBeLessThan(1e-9)
        for (let step = 0; step <= 300; step++) {
          const tried = plateAt(made, coolant, (made.driveCurrentA * step) / 300, heatW)
          expect(tried).toBeGreaterThan(found.plateC - 1e-7)
        }
      }),
      { numRuns: 200 },
    )
  })
})

describe('the current that reaches a target', () => {
  it('is the smallest one, or the coldest where none reaches it', () => {
    const below = fc.double({ min: 0, max: 30, noNaN: true })
    fc.assert(
      fc.property(plates, fans, corners, heats, below, (made, fan, { airC }, heatW, belowK) => {
        const coolant = prepareCoolant(radiatorLaw(made.radiator), fan, airC)
        coldestCurrent(made, coolant, made.driveCurrentA, heatW, choice)
        const coldest = { ...choice }
        const targetC = plateAt(made, coolant, 0, heatW) - belowK
        reachingCurrent(made, coolant, made.driveCurrentA, heatW, targetC, choice)
        const found = { ...choice }
        const reachedC = plateAt(made, coolant, found.currentA, heatW)
        if (coldest.plateC > targetC) {
          expect(Math.abs(reachedC - coldest.plateC)).toBeLessThan(1e-7)
          return
        }
        expect(reachedC).toBeLessThan(targetC + 1e-8)
        for (let step = 0; step < 200; step++) {
          expect(plateAt(made, coolant, (found.currentA * step) / 200, heatW)).toBeGreaterThan(targetC - 1e-8)
        }
      }),
      { numRuns: 200 },
    )
  })

  it('is none where the plate is cold enough without', () => {
    const coolant = prepareCoolant(radiatorLaw(plate.radiator), [], 20)
    reachingCurrent(plate, coolant, 9, 10, 40, choice)
    expect(choice.currentA).toBe(0)
    expect(choice.plateC).toBeLessThan(40)
  })
})
