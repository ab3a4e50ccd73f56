import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import { dutyAt, radiatorLaw, radiatorResistance } from '../../server/model/fan.ts'
import type { Drive, FanPoint, ThermoelectricCooler } from '../../server/model/types.ts'
import { isSound } from '../harness/modules.ts'
import { type PlateAt, plateAt } from '../harness/plate-at.ts'
import { corners, fans, plate, plates } from './benches.ts'

/** The plates of other tests with all that a real one has: constants by temperature, a leak, wires, a supply's limit. */
const between = (min: number, max: number) => fc.double({ min, max, noNaN: true })
const realPlates: fc.Arbitrary<ThermoelectricCooler> = fc
  .record({
    made: plates,
    constantsAtC: between(-30, 40),
    plateLeakWPerK: between(0, 1.5),
    parallel: fc.constantFrom(1, 1, 2),
    leadsOhm: between(0, 0.1),
    supplyLimitA: fc.option(between(0.5, 20), { nil: undefined }),
  })
  .map(({ made, parallel, supplyLimitA, ...rest }) => ({
    ...made,
    ...rest,
    modules: made.modules * parallel,
    wiringSeries: made.modules,
    wiringParallel: parallel,
    ...(supplyLimitA === undefined ? {} : { supplyLimitA }),
  }))

const drives: fc.Arbitrary<Drive> = fc.oneof(
  fc.constant<Drive>({ kind: 'full' }),
  between(0, 16).map((currentA): Drive => ({ kind: 'fixed', currentA })),
  between(0, 60).map((voltageV): Drive => ({ kind: 'supply', voltageV })),
  between(0.05, 1).map((dutyShare): Drive => ({ kind: 'pulsed', dutyShare })),
  between(-10, 40).map((temperatureC): Drive => ({ kind: 'hold', temperatureC })),
)

function figuresOf(
  cooler: ThermoelectricCooler,
  drive: Drive,
  fan: readonly FanPoint[],
  airC: number,
  heatW: number,
): PlateAt | undefined {
  const curve = prepareCurve(cooler, { drive, fan }, { airC, humidityPct: 50 })
  const point = { plateC: Number.NaN, slopeKPerW: Number.NaN }
  curve.evaluate(heatW, point)
  if (!Number.isFinite(point.plateC)) return undefined
  const figures = plateAt(curve, heatW)
  expect(Math.abs(figures.plateC - point.plateC)).toBeLessThan(1e-9 * (300 + Math.abs(point.plateC)))
  return figures
}

/** α, R and K at a mean temperature, by the polynomials as they stand in the model's text. */
function constantsAt(cooler: ThermoelectricCooler, meanC: number) {
  const clamp = (kelvin: number) => Math.min(450, Math.max(200, kelvin))
  const [at, from] = [clamp(meanC + 273.15), clamp((cooler.constantsAtC ?? meanC) + 273.15)]
  const ratio = (p: (kelvin: number) => number) => p(at) / p(from)
  return {
    alpha: cooler.seebeckVPerK * ratio(k => 22224 + 930.6 * k - 0.9905 * k * k),
    ohm: cooler.resistanceOhm * ratio(k => 5112 + 163.4 * k + 0.6279 * k * k),
    k: cooler.conductanceWPerK * ratio(k => 62605 - 277.7 * k + 0.4131 * k * k),
  }
}

const heats = between(0, 400)

describe('a real plate', () => {
  it('meets every equation of its section at once, whatever drives it', () => {
    const seen = new Set<string>()
    fc.assert(
      fc.property(realPlates, drives, fans, corners, heats, (cooler, drive, fan, { airC }, heatW) => {
        const found = figuresOf(cooler, drive, fan, airC, heatW)
        if (found?.plate == null || found.hotC === null || found.driveW === null || found.driveA === null) return
        const { plateC, hotC, coolantC, plate: notes } = found
        const { alpha, ohm, k } = constantsAt(cooler, (plateC + hotC) / 2)
        expect(notes.seebeckVPerK / alpha).toBeCloseTo(1, 9)
        expect(notes.resistanceOhm / ohm).toBeCloseTo(1, 9)
        expect(notes.conductanceWPerK / k).toBeCloseTo(1, 9)
        const share = drive.kind === 'pulsed' ? drive.dutyShare : 1
        const i = notes.flowingA
        const n = cooler.modules
        const leakW = (cooler.plateLeakWPerK ?? 0) * (airC - plateC)
        const taken = n * (share * (alpha * i * (plateC + 273.15) - (i * i * ohm) / 2) - k * (hotC - plateC))
        const outW = n * (share * (alpha * i * (hotC + 273.15) + (i * i * ohm) / 2) - k * (hotC - plateC))
        const scale = 2e-9 * (100 + Math.abs(outW) + n * alpha * i * 300)
        expect(Math.abs(taken - heatW - leakW)).toBeLessThan(scale)
        expect(Math.abs(notes.leakW - leakW)).toBeLessThan(1e-9)
        const radiatorKPerW = radiatorResistance(radiatorLaw(cooler.radiator), dutyAt(fan, coolantC))
        expect(Math.abs(coolantC - airC - radiatorKPerW * outW)).toBeLessThan(scale)
        expect(Math.abs(hotC - coolantC - cooler.blockResistanceKPerW * outW)).toBeLessThan(scale)
        const supplyA = (cooler.wiringParallel ?? 1) * i
        const leadsW = drive.kind === 'supply' ? (cooler.leadsOhm ?? 0) * supplyA * supplyA : 0
        expect(Math.abs(found.driveW - leadsW - (outW - taken))).toBeLessThan(scale)
        expect(found.driveA).toBeCloseTo(share * i, 12)
        const asked =
          (cooler.wiringSeries ?? n) * (alpha * (hotC - plateC) + i * ohm) + (cooler.leadsOhm ?? 0) * supplyA
        expect(Math.abs(notes.supplyV - asked)).toBeLessThan(1e-8 * (1 + Math.abs(asked)))
        expect(notes.supplyA).toBeCloseTo(supplyA, 12)
        const mostA = Math.min(cooler.driveCurrentA, (cooler.supplyLimitA ?? 1e9) / (cooler.wiringParallel ?? 1))
        if (drive.kind === 'supply') {
          seen.add(notes.boundBy)
          const { voltageV } = drive
          if (notes.boundBy === 'none') expect(Math.abs(asked - voltageV)).toBeLessThan(1e-7 * (1 + voltageV))
          else if (notes.boundBy === 'no-current') {
            expect(i).toBe(0)
            expect(asked).toBeGreaterThanOrEqual(voltageV - 1e-7)
          } else {
            expect(i).toBeCloseTo(mostA, 12)
            expect(asked).toBeLessThanOrEqual(voltageV + 1e-7)
            expect(notes.boundBy).toBe(mostA < cooler.driveCurrentA * (1 - 1e-9) ? 'supply-limit' : 'drive-current')
          }
        } else expect(notes.boundBy).toBe('none')
        expect(isSound(cooler, i * share, radiatorKPerW, (plateC + hotC) / 2)).toBe(true)
        seen.add(drive.kind)
        // No current makes it colder than the coldest, and pulses are never colder than their mean.
        expect(found.coldestPlateC).toBeLessThanOrEqual(plateC + 1e-7)
        expect(notes.smoothPlateC).toBeLessThanOrEqual(plateC + 1e-7)
      }),
      { numRuns: 600 },
    )
    expect([...seen].sort()).toEqual(
      ['drive-current', 'fixed', 'full', 'hold', 'no-current', 'none', 'pulsed', 'supply', 'supply-limit'].sort(),
    )
  })

  it('has no colder state that agrees with itself', () => {
    fc.assert(
      fc.property(realPlates, between(0, 16), fans, corners, heats, (cooler, currentA, fan, { airC }, heatW) => {
        const drive: Drive = { kind: 'fixed', currentA }
        const found = figuresOf(cooler, drive, fan, airC, heatW)
        const i = Math.min(currentA, cooler.driveCurrentA)
        const law = radiatorLaw(cooler.radiator)
        // From a coolant temperature all follows; the heat it serves must stay below what is asked up to the answer.
        const served = (coolantC: number): number => {
          const outW = (coolantC - airC) / radiatorResistance(law, dutyAt(fan, coolantC))
          const hotC = coolantC + cooler.blockResistanceKPerW * outW
          const balance = (plateC: number) => {
            const { alpha, ohm, k } = constantsAt(cooler, (plateC + hotC) / 2)
            const n = cooler.modules
            return {
              out: n * (alpha * i * (hotC + 273.15) + (i * i * ohm) / 2 - k * (hotC - plateC)) - outW,
              heat:
                n * (alpha * i * (plateC + 273.15) - (i * i * ohm) / 2 - k * (hotC - plateC)) -
                (cooler.plateLeakWPerK ?? 0) * (airC - plateC),
            }
          }
          let [low, high] = [-1500, 1500]
          for (let round = 0; round < 70; round++) {
            const middle = (low + high) / 2
            if (balance(middle).out < 0) low = middle
            else high = middle
          }
          return balance((low + high) / 2).heat
        }
        const endC = found?.coolantC ?? airC + 300
        for (let part = 0; part < 200; part++) {
          const coolantC = airC + ((endC - airC) * part) / 200
          expect(served(coolantC)).toBeLessThan(heatW + 1e-6 * (1 + heatW))
        }
      }),
      { numRuns: 60 },
    )
  })

  it('keeps its constants at every temperature unless it says where they hold', () => {
    const stated = figuresOf(plate, { kind: 'full' }, [], 25, 150)
    const { seebeckVPerK, resistanceOhm, conductanceWPerK } = plate
    expect(stated?.plate).toMatchObject({ seebeckVPerK, resistanceOhm, conductanceWPerK })
    const byTemperature = figuresOf({ ...plate, constantsAtC: -7 }, { kind: 'full' }, [], 25, 150)
    expect(byTemperature?.plate?.resistanceOhm).toBeGreaterThan(1.1 * resistanceOhm)
    expect(byTemperature?.plateC).not.toBeCloseTo(stated?.plateC ?? 0, 1)
  })

  it('leaks what flows in from the air: warmer below it, colder above it, the same at it', () => {
    const at = (plateLeakWPerK: number, heatW: number) =>
      figuresOf({ ...plate, plateLeakWPerK }, { kind: 'fixed', currentA: 4 }, [], 25, heatW)?.plateC ?? Number.NaN
    expect(at(0, 20)).toBeLessThan(25)
    expect(at(1, 20)).toBeGreaterThan(at(0, 20) + 1)
    expect(at(0, 400)).toBeGreaterThan(25)
    expect(at(1, 400)).toBeLessThan(at(0, 400) - 1)
    const curve = prepareCurve(plate, { drive: { kind: 'fixed', currentA: 4 }, fan: [] }, { airC: 25, humidityPct: 50 })
    const levelW = curve.heatAt(0, 25)
    expect(at(1, levelW)).toBeCloseTo(25, 9)
  })
})
