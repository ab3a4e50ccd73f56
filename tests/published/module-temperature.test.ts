import { describe, expect, test } from 'vitest'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import { type ModuleDatasheet, moduleFromDatasheet } from '../../server/model/cooler/thermoelectric/module.ts'
import type { Drive, ThermoelectricCooler } from '../../server/model/types.ts'
import { electricalInput, heatTaken } from '../harness/modules.ts'
import { type PlateAt, plateAt } from '../harness/plate-at.ts'

const zeroC = 273.15

/** One module with the constants of its sheet by temperature, behind a hot side that no heat can move. */
function moduleOf(sheet: ModuleDatasheet, mostA = sheet.currentA): ThermoelectricCooler {
  const { seebeckVPerK, resistanceOhm, conductanceWPerK, meanC } = moduleFromDatasheet(sheet)
  return {
    kind: 'thermoelectric',
    modules: 1,
    seebeckVPerK,
    resistanceOhm,
    conductanceWPerK,
    constantsAtC: meanC,
    driveCurrentA: mostA,
    driveWhenOff: true,
    blockResistanceKPerW: 0,
    radiator: [{ dutyPct: 100, resistanceKPerW: 1e-9 }],
    plateHeatJPerK: 150,
    coolantHeatJPerK: 3000,
  }
}

const at = (cooler: ThermoelectricCooler, hotC: number, drive: Drive, heatW: number): PlateAt =>
  plateAt(prepareCurve(cooler, { drive, fan: [] }, { airC: hotC, humidityPct: 50 }), heatW)

/** Colder than any plate of these gets, so that the drive makes it as cold as it can be. */
const asColdAsCanBe: Drive = { kind: 'hold', temperatureC: -200 }

describe('constants by temperature', () => {
  const sheet = { hotC: 27, currentA: 14.8, voltageV: 15.6, heatW: 142, differenceK: 68 }

  test('the rated state comes out exactly, voltage and all', () => {
    const found = at(moduleOf(sheet), 27, { kind: 'full' }, 0)
    expect(27 - found.plateC).toBeCloseTo(68, 5)
    expect((found.driveW ?? 0) / 14.8).toBeCloseTo(15.6, 5)
    // Fed with that voltage it draws that current.
    const fed = at(moduleOf(sheet, 20), 27, { kind: 'supply', voltageV: 15.6 }, 0)
    expect(fed.driveA).toBeCloseTo(14.8, 5)
    expect(27 - fed.plateC).toBeCloseTo(68, 5)
  })

  test('a hot side of 50 °C in place of 27: a sheet says 10 K and 10 % more (Laird, series PC, rev. 1 of 2006)', () => {
    const strong = moduleOf(sheet, 40)
    const differenceAt = (hotC: number) => hotC - at(strong, hotC, asColdAsCanBe, 0).plateC
    // Recomputed outside this project: 68.00 K, and 77.91 K.
    expect(differenceAt(50) - differenceAt(27)).toBeGreaterThan(9)
    expect(differenceAt(50) - differenceAt(27)).toBeLessThan(11)
    expect(differenceAt(27)).toBeCloseTo(68, 5)
    expect(differenceAt(50)).toBeCloseTo(77.91, 2)
    const heatAt = (hotC: number) => heatTaken(moduleOf(sheet), sheet.currentA, hotC, hotC)
    expect(heatAt(50) / heatAt(27)).toBeGreaterThan(1.05)
    expect(heatAt(50) / heatAt(27)).toBeLessThan(1.15)
  })

  test('the worked example of Marlow, "Estimating TEC performance": 3.4 A and 19.0 W as printed', () => {
    const marlow = moduleOf({ hotC: 27, currentA: 5.6, voltageV: 8.2, heatW: 30, differenceK: 65 })
    const found = at(marlow, 27, { kind: 'hold', temperatureC: 27 - 35 }, 9)
    expect(Math.abs((found.driveA ?? 0) / 3.4 - 1)).toBeLessThan(0.02)
    expect(Math.abs((found.driveW ?? 0) / 19 - 1)).toBeLessThan(0.06)
    // Recomputed outside this project.
    expect(found.driveA).toBeCloseTo(3.433, 3)
    expect(found.driveW).toBeCloseTo(18.0, 1)
  })

  test('resistance grows by about half a per cent a kelvin at 298 K (Ferrotec, Technical Reference Guide)', () => {
    const cooler = moduleOf(sheet)
    const ohmAt = (meanC: number) => electricalInput(cooler, 1, meanC, meanC)
    const growth = (ohmAt(298.5 - zeroC) - ohmAt(297.5 - zeroC)) / ohmAt(298 - zeroC)
    expect(growth).toBeCloseTo(0.0049, 4)
  })

  test.each([
    ['PC-072-14-06', 15.4, 8.9, 85.1, 68],
    ['PC-128-14-06', 15.4, 15.8, 151.4, 68],
    ['PC-128-20-08', 24, 15.8, 235.5, 70],
    ['PC-200-14-06', 15.4, 25.0, 236.5, 68],
    ['PC-288-10-05', 9, 35.8, 198.4, 68],
    ['PC-288-14-11', 8.5, 35.8, 182.6, 71],
  ] as const)(
    '%s: its heat at full current and no difference, as printed',
    (_name, currentA, voltageV, heatW, differenceK) => {
      const hotC = 298 - zeroC
      const cooler = moduleOf({ hotC, currentA, voltageV, heatW, differenceK })
      const error = heatTaken(cooler, currentA, hotC, hotC) / heatW - 1
      expect(error).toBeGreaterThan(-0.0295)
      expect(error).toBeLessThan(0.0175)
    },
  )

  test('pulses heat with the mean of the square: half the time at twice the current is twice the heat of its mean', () => {
    // Marlow's knowledge base, IV.B, on ripple: the heat goes with the mean square of the current.
    const { constantsAtC: _none, ...constant } = moduleOf(sheet)
    const pulsed = at({ ...constant, driveCurrentA: 8 }, 27, { kind: 'pulsed', dutyShare: 0.5 }, 0)
    const smooth = at({ ...constant, driveCurrentA: 8 }, 27, { kind: 'fixed', currentA: 4 }, 0)
    const jouleW = (found: PlateAt, mean: number) =>
      (found.driveW ?? 0) - mean * constant.seebeckVPerK * (27 - found.plateC)
    expect(pulsed.driveA).toBeCloseTo(4, 12)
    expect(jouleW(pulsed, 4) / jouleW(smooth, 4)).toBeCloseTo(2, 9)
    expect(pulsed.plateC).toBeGreaterThan(smooth.plateC + 1)
    expect(pulsed.plate?.smoothPlateC).toBeCloseTo(smooth.plateC, 9)
  })
})
