import { describe, expect, it } from 'vitest'
import type { Bench, Corner, Profile, ThermoelectricCooler } from '../../server/model/types.ts'
import { corner, withProfile } from './paper-bench.ts'
import { feedOf, type PlateState, plateFed } from './plate.ts'
import { oracleSettle } from './settle.ts'

/** The plate with the drive rule acting. */
const plateFor = (bench: Bench, corner: Corner, heatW: number): PlateState => {
  if (bench.cooler.kind !== 'thermoelectric') throw new Error('only modules are driven')
  return plateFed(bench, bench.cooler, corner, heatW, feedOf(bench, bench.cooler, corner, heatW)) as PlateState
}

describe('thermoelectric plate', () => {
  const module = { seebeckVPerK: 0.05, resistanceOhm: 0.8, conductanceWPerK: 1.4 }
  const cooler: ThermoelectricCooler = {
    kind: 'thermoelectric',
    modules: 2,
    ...module,
    driveCurrentA: 15,
    driveWhenOff: true,
    blockResistanceKPerW: 1e-7,
    radiator: [{ dutyPct: 100, resistanceKPerW: 1e-6 }],
    plateHeatJPerK: 150,
    coolantHeatJPerK: 3000,
  }
  const driven = (drive: Profile['drive'], change: Partial<ThermoelectricCooler> = {}): Bench => ({
    ...withProfile({ drive }),
    cooler: { ...cooler, ...change },
  })

  it('reaches the printed coldest temperature at the printed current (Kutz, Mechanical Engineers’ Handbook vol. 4)', () => {
    const merit = 0.05 ** 2 / (1.4 * 0.8)
    const coldestK = (Math.sqrt(1 + 2 * merit * 298.15) - 1) / merit
    const plate = plateFor(driven({ kind: 'hold', temperatureC: -200 }), corner, 0)
    expect(plate.plateC + 273.15).toBeCloseTo(coldestK, 2)
    expect(plate.driveA).toBeCloseTo((0.05 * coldestK) / 0.8, 2)
  })
  it('obeys its three equations with a real radiator', () => {
    const real = driven(
      { kind: 'full' },
      {
        driveCurrentA: 6,
        blockResistanceKPerW: 0.03,
        radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }],
      },
    )
    const plate = plateFor(real, corner, 120)
    const coldK = plate.plateC + 273.15
    const hotK = (plate.hotC ?? 0) + 273.15
    expect(2 * (0.05 * 6 * coldK - 36 * 0.4 - 1.4 * (hotK - coldK))).toBeCloseTo(120, 9)
    expect(2 * (0.05 * 6 * hotK + 36 * 0.4 - 1.4 * (hotK - coldK))).toBeCloseTo(plate.heatOutW, 9)
    expect(hotK).toBeCloseTo(298.15 + 0.08 * plate.heatOutW, 9)
    expect(plate.coolantC).toBeCloseTo(25 + 0.05 * plate.heatOutW, 9)
  })
  it('obeys them with a leak, constants by temperature and leads at a supply, and in pulses', () => {
    const extra = {
      blockResistanceKPerW: 0.03,
      radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }],
      constantsAtC: 10,
      plateLeakWPerK: 0.8,
      wiringSeries: 1,
      wiringParallel: 2,
      leadsOhm: 0.05,
    }
    const drives = [
      { kind: 'supply', voltageV: 7 },
      { kind: 'pulsed', dutyShare: 0.4 },
    ] as const
    for (const drive of drives) {
      const duty = drive.kind === 'pulsed' ? drive.dutyShare : 1
      const plate = plateFor(driven(drive, extra), corner, 40)
      const { flowingA: i, constants } = plate
      const [coldK, hotK] = [plate.plateC + 273.15, plate.hotC + 273.15]
      const { seebeck, ohm, conductance } = constants
      // α at a mean of 10 °C is what is stated; elsewhere it follows the couple's polynomial.
      const t = (coldK + hotK) / 2
      const polynomial = (kelvin: number): number => 22224 + 930.6 * kelvin - 0.9905 * kelvin ** 2
      expect(seebeck).toBeCloseTo((0.05 * polynomial(t)) / polynomial(283.15), 12)
      const [joule, back] = [(i * i * ohm) / 2, conductance * (hotK - coldK)]
      const pumpedW = 2 * (duty * (seebeck * i * coldK - joule) - back)
      expect(pumpedW).toBeCloseTo(40 + 0.8 * (corner.airC + 273.15 - coldK), 8)
      expect(2 * (duty * (seebeck * i * hotK + joule) - back)).toBeCloseTo(plate.heatOutW, 8)
      expect(hotK).toBeCloseTo(plate.coolantC + 273.15 + 0.03 * plate.heatOutW, 9)
      expect(plate.coolantC).toBeCloseTo(corner.airC + 0.05 * plate.heatOutW, 8)
      const leadsW = drive.kind === 'supply' ? 0.05 * (2 * i) ** 2 : 0
      expect(plate.driveW).toBeCloseTo(2 * duty * (seebeck * i * (hotK - coldK) + i * i * ohm) + leadsW, 8)
      if (drive.kind === 'supply') expect(seebeck * (hotK - coldK) + i * ohm + 0.05 * 2 * i).toBeCloseTo(7, 9)
      else expect(plate.driveA).toBeCloseTo(0.4 * 15, 12)
    }
  })
  it('undriven is a plain resistance, and stays so when already at the target', () => {
    const off = plateFor(driven({ kind: 'off' }), corner, 100)
    expect(off.plateC).toBeCloseTo(25 + 100 / 2.8, 3)
    const warm = plateFor(driven({ kind: 'hold', temperatureC: 70 }), corner, 100)
    expect(warm.driveA).toBe(0)
  })
  it('holds a target with the smaller of the two currents that reach it', () => {
    const plate = plateFor(driven({ kind: 'hold', temperatureC: 15 }), corner, 30)
    const coldK = 288.15
    // Q/N = αiTc − i²R/2 − K(Th − Tc) is quadratic in i.
    const rest = 15 + 1.4 * 10
    const currentA = (0.05 * coldK - Math.sqrt((0.05 * coldK) ** 2 - 2 * 0.8 * rest)) / 0.8
    expect(plate.plateC).toBeCloseTo(15, 7)
    expect(plate.driveA).toBeCloseTo(currentA, 4)
  })
  it('targets the wet point with a margin', () => {
    const plate = plateFor(driven({ kind: 'dew', marginK: 2 }), corner, 30)
    expect(plate.plateC).toBeCloseTo(13.8516 + 2, 4)
  })
  it('has no solution where the radiator cannot carry the current', () => {
    const poor = driven({ kind: 'full' }, { radiator: [{ dutyPct: 100, resistanceKPerW: 2 }] })
    expect(plateFor(poor, corner, 10).plateC).toBe(Number.POSITIVE_INFINITY)
  })
  it('off is the plate with its drive and no heat', () => {
    const got = oracleSettle(driven({ kind: 'hold', temperatureC: 10 }), { kind: 'off' }, corner)
    expect(got).toMatchObject({ state: 'steady', limiter: 'none', powerW: 0, ratio: null })
    expect(got.dieC).toBeCloseTo(10, 9)
    expect(got.driveW).toBeGreaterThan(0)
  })
})
