import { describe, expect, test } from 'vitest'
import { prepareCurve } from '../../server/model/cooler/index.ts'
import {
  HEAT_RATIO_TOLERANCE,
  type ModuleDatasheet,
  moduleFromDatasheet,
} from '../../server/model/cooler/thermoelectric/module.ts'
import { fromOtherFigures, moduleFigures } from '../../server/model/cooler/thermoelectric/module-figures.ts'
import type { Drive, ThermoelectricCooler } from '../../server/model/types.ts'
import { electricalInput, heatTaken } from '../harness/modules.ts'
import { type PlateAt, plateAt } from '../harness/plate-at.ts'

const zeroC = 273.15
type Constants = Pick<ThermoelectricCooler, 'seebeckVPerK' | 'resistanceOhm' | 'conductanceWPerK' | 'constantsAtC'>

function stack(constants: Constants, modules = 1) {
  return { ...constants, modules, blockResistanceKPerW: 0 }
}

/** A plate whose hot side no heat can move, under a drive. */
function heldHot(constants: Constants, hotC: number, mostA: number, drive: Drive, heatW: number): PlateAt {
  const cooler: ThermoelectricCooler = {
    kind: 'thermoelectric',
    ...stack(constants),
    driveCurrentA: mostA,
    driveWhenOff: true,
    radiator: [{ dutyPct: 100, resistanceKPerW: 1e-9 }],
    plateHeatJPerK: 150,
    coolantHeatJPerK: 3000,
  }
  return plateAt(prepareCurve(cooler, { drive, fan: [] }, { airC: hotC, humidityPct: 50 }), heatW)
}

/** Colder than any plate of these gets, so that the drive makes it as cold as it can be. */
const asColdAsCanBe: Drive = { kind: 'hold', temperatureC: -200 }

/** Z, γ and the closed forms of Kraus in the Mechanical Engineers' Handbook (Kutz), vol. 4, eqs 112 to 123. */
function closedForms(
  { seebeckVPerK: a, resistanceOhm: r, conductanceWPerK: k }: Constants,
  coldK: number,
  hotK: number,
) {
  const z = (a * a) / (k * r)
  const gamma = Math.sqrt(1 + (z * (coldK + hotK)) / 2)
  const difference = hotK - coldK
  return {
    z,
    bestA: (a * difference) / (r * (gamma - 1)),
    bestCop: ((coldK / difference) * (gamma - hotK / coldK)) / (gamma + 1),
    mostA: (a * coldK) / r,
  }
}

describe('three numbers of a datasheet predict the fourth', () => {
  // Laird, series PC, hot side 298 K, heat at no difference and full current (dtsheet.com/doc/1563006, drawing
  // revision 1 of 2006-05-03): I A, V V, Q W, ΔT K and the AC resistance in Ω as printed. α, R, K and the predicted
  // heat are recomputed from the printed I, V and ΔT alone.
  const laird = [
    ['PC-072-14-06', 15.4, 8.9, 85.1, 68, 0.45, 0.029866, 0.446, 0.7778, 84.17],
    ['PC-128-14-06', 15.4, 15.8, 151.4, 68, 0.82, 0.05302, 0.7919, 1.3809, 149.42],
    ['PC-128-20-08', 24, 15.8, 235.5, 70, 0.55, 0.05302, 0.5037, 2.0723, 234.14],
    ['PC-200-14-06', 15.4, 25.0, 236.5, 68, 1.28, 0.083893, 1.2529, 2.1849, 236.43],
    ['PC-288-10-05', 9, 35.8, 198.4, 68, 3.11, 0.120134, 3.0701, 1.8285, 197.86],
    ['PC-288-14-11', 8.5, 35.8, 182.6, 71, 3.39, 0.120134, 3.2083, 1.6324, 188.4],
  ] as const
  test.each(laird)('%s', (_name, currentA, voltageV, heatW, differenceK, printedOhm, alpha, ohm, k, predictedW) => {
    const hotC = 298 - zeroC
    const module = moduleFromDatasheet({ hotC, currentA, voltageV, heatW, differenceK })
    expect(Math.abs(module.seebeckVPerK - alpha)).toBeLessThan(5.1e-7)
    expect(Math.abs(module.resistanceOhm - ohm)).toBeLessThan(5.1e-5)
    expect(Math.abs(module.conductanceWPerK - k)).toBeLessThan(5.1e-5)
    const taken = heatTaken(stack(module), currentA, hotC, hotC)
    expect(Math.abs(taken - predictedW)).toBeLessThan(5.1e-3)
    // The printed heat: 3.2 % beside the prediction at worst, which the tool must take for a sound sheet.
    expect(Math.abs(taken / heatW - 1)).toBeLessThan(0.035)
    expect(module.heatRatio * taken).toBeCloseTo(heatW, 9)
    expect(Math.abs(module.heatRatio - 1)).toBeLessThan(HEAT_RATIO_TOLERANCE)
    // The printed AC resistance, which is not used: 0.92 to 0.99 of it.
    expect(module.resistanceOhm / printedOhm).toBeGreaterThan(0.915)
    expect(module.resistanceOhm / printedOhm).toBeLessThan(1)
  })

  test('a warmer hot side, where the sheet says 10 K and 10 % more', () => {
    // Same sheet, for 50 °C. Constant α, R and K give 9.5 K, and 16.8 % for the heat: right in the difference,
    // too hopeful in the heat (recomputed).
    const module = moduleFromDatasheet({
      hotC: 298 - zeroC,
      currentA: 15.4,
      voltageV: 15.8,
      heatW: 151.4,
      differenceK: 68,
    })
    const coldestAt = (hotC: number): number => hotC - heldHot(module, hotC, 40, asColdAsCanBe, 0).plateC
    expect(coldestAt(298 - zeroC)).toBeCloseTo(68, 5)
    expect(coldestAt(323 - zeroC) - 68).toBeCloseTo(9.5, 1)
    const { mostA } = closedForms(module, 323 - coldestAt(323 - zeroC), 323)
    const warm = heatTaken(stack(module), mostA, 323 - zeroC, 323 - zeroC)
    expect(warm / 149.42 - 1).toBeCloseTo(0.168, 2)
  })

  test.each([
    // electracool.com: 127 couples, 40 × 40 × 4.6 mm, 27 °C.
    ['TM 127-1.4-4.0', { hotC: 27, currentA: 3.9, voltageV: 15.5, heatW: 32, differenceK: 70 }, 37.27, true],
    // store.qkits.com: 127 couples, 30 × 30 mm; the difference is printed as 149 °F and 25 °C is assumed.
    ['CP1.0-127-06L', { hotC: 25, currentA: 3, voltageV: 15.4, heatW: 25.7, differenceK: 65 }, 28.14, true],
    // Defaults in a public code: 17 couples, 25 °C. Off by 3 %, as sound sheets are.
    ['QC-17-1.0-2.5AS', { hotC: 25, currentA: 2.8, voltageV: 1.9, heatW: 3.2, differenceK: 72 }, 3.3, false],
  ] as const)('%s: whether it contradicts itself', (_name, sheet: ModuleDatasheet, predictedW, contradicts) => {
    const module = moduleFromDatasheet(sheet)
    expect(Math.abs(sheet.heatW / module.heatRatio - predictedW)).toBeLessThan(5.1e-3)
    expect(Math.abs(module.heatRatio - 1) > HEAT_RATIO_TOLERANCE).toBe(contradicts)
  })
})

describe('a printed worked example: Marlow, "Estimating TEC performance"', () => {
  // marlow.com/TechnicalInfo/estimating_tec_performance.htm: hot side 27 °C, ΔT 65 °C, Q 30 W, I 5.6 A, V 8.2 V; asked:
  // 9.0 W at a difference of 35 °C. Read off a performance graph: 3.4 A, input 19.0 W, heat out 28.0 W.
  const sheet = { hotC: 27, currentA: 5.6, voltageV: 8.2, heatW: 30, differenceK: 65 }
  const asked = (constants: Constants) => {
    const found = heldHot(constants, 27, 5.6, { kind: 'hold', temperatureC: 27 - 35 }, 9)
    const inputW = found.driveW ?? Number.NaN
    return { currentA: found.driveA ?? Number.NaN, inputW, outW: 9 + inputW }
  }

  test('constants drawn from heat and current, as the graph was', () => {
    const hotK = 300.15
    const seebeckVPerK = (2 * 30) / (5.6 * (hotK + 65))
    const resistanceOhm = (seebeckVPerK * (hotK - 65)) / 5.6
    const conductanceWPerK = (30 * (hotK - 65)) / (65 * (hotK + 65))
    const { currentA, inputW, outW } = asked({ seebeckVPerK, resistanceOhm, conductanceWPerK })
    expect(Math.abs(currentA / 3.4 - 1)).toBeLessThan(0.02)
    expect(Math.abs(inputW / 19 - 1)).toBeLessThan(0.06)
    expect(Math.abs(outW / 28 - 1)).toBeLessThan(0.04)
    // Recomputed.
    expect(currentA).toBeCloseTo(3.4202, 4)
    expect(inputW).toBeCloseTo(17.925, 3)
  })

  test('constants drawn from voltage and current, as the model does: as far off as the sheet contradicts itself', () => {
    const module = moduleFromDatasheet(sheet)
    const { currentA, inputW, outW } = asked(module)
    expect(module.heatRatio - 1).toBeGreaterThan(HEAT_RATIO_TOLERANCE)
    expect(module.heatRatio - 1).toBeLessThan(0.08)
    expect(Math.abs(currentA / 3.4 - 1)).toBeLessThan(module.heatRatio - 1)
    expect(Math.abs(inputW / 19 - 1)).toBeLessThan(0.06)
    expect(Math.abs(outW / 28 - 1)).toBeLessThan(0.04)
    // Recomputed.
    expect(currentA).toBeCloseTo(3.6134, 4)
    expect(inputW).toBeCloseTo(18.434, 3)
    expect(outW).toBeCloseTo(27.434, 3)
    expect(heatTaken(stack(module), 3.4, -8, 27)).toBeCloseTo(8.312, 3)
  })
})

describe('an exact refrigerator', () => {
  // 100 couples, 10 W from −15 °C to 40 °C, after da Rosa, "Fundamentals of Renewable Energy Processes"; the figures are
  // the stored outputs of a public course notebook (mtsn-lab/me146-246, refrigeratorThermocouple.ipynb).
  const couple = {
    seebeckVPerK: 0.0006,
    resistanceOhm: 0.03353493403145532,
    conductanceWPerK: 0.0035783580157766706,
  }
  const [coldK, hotK, currentA] = [258.15, 313.15, 2.71312307286416]
  const plate = stack(couple, 100)
  test('pumps 10 W at the printed current, with the printed input and coefficient of performance', () => {
    expect(heatTaken(plate, currentA, coldK - zeroC, hotK - zeroC)).toBeCloseTo(10, 9)
    const inputW = electricalInput(plate, currentA, coldK - zeroC, hotK - zeroC)
    expect(inputW / 100).toBeCloseTo(0.3363849451809428, 12)
    expect(10 / inputW).toBeCloseTo(0.29727846454665086, 12)
  })
  test('agrees with the closed forms', () => {
    const { z, bestA, bestCop } = closedForms(couple, coldK, hotK)
    expect(bestA).toBeCloseTo(currentA, 11)
    expect(bestCop).toBeCloseTo(0.29727846454665086, 11)
    // Greatest difference at this cold side, recomputed; there the most that the couple can pump is nothing.
    expect((z * coldK * coldK) / 2).toBeCloseTo(99.96213375, 8)
    const mostA = (couple.seebeckVPerK * coldK) / couple.resistanceOhm
    expect(heatTaken(plate, mostA, coldK - zeroC, coldK - zeroC + 99.96213375)).toBeCloseTo(0, 6)
  })
})

describe('a module over current and difference', () => {
  // PC-128-14-06 at 298 K, recomputed outside this project to the digits shown: heat in W and voltage in V at 3, 6, 9,
  // 12 and 15.4 A; current of most heat and that heat; current of best performance and that performance.
  const module = moduleFromDatasheet({
    hotC: 298 - zeroC,
    currentA: 15.4,
    voltageV: 15.8,
    heatW: 151.4,
    differenceK: 68,
  })
  const plate = stack(module)
  const currents = [3, 6, 9, 12, 15.4]
  const rows = [
    [0, [43.837, 80.547, 110.13, 132.586, 149.421], [2.376, 4.751, 7.127, 9.502, 12.195], 19.953, 157.629],
    [10, [28.437, 63.557, 91.549, 112.415, 127.448], [2.906, 5.281, 7.657, 10.033, 12.725], 19.2835, 133.4188],
    [20, [13.038, 46.567, 72.969, 92.244, 105.474], [3.436, 5.812, 8.187, 10.563, 13.255], 18.6139, 109.5635],
    [30, [-2.361, 29.577, 54.388, 72.073, 83.5], [3.966, 6.342, 8.717, 11.093, 13.785], 17.9443, 86.0633],
    [40, [-17.76, 12.587, 35.808, 51.902, 61.526], [4.496, 6.872, 9.248, 11.623, 14.315], 17.2748, 62.9181],
    [50, [-33.16, -4.403, 17.228, 31.731, 39.553], [5.027, 7.402, 9.778, 12.153, 14.846], 16.6052, 40.1278],
    [60, [-48.559, -21.392, -1.353, 11.56, 17.579], [5.557, 7.932, 10.308, 12.684, 15.376], 15.9357, 17.6926],
  ] as const
  test.each(rows)('difference %d K', (difference, heats, volts, mostA, mostW) => {
    const hotC = 298 - zeroC
    const coldC = hotC - difference
    currents.forEach((currentA, index) => {
      expect(Math.abs(heatTaken(plate, currentA, coldC, hotC) - heats[index]!)).toBeLessThan(5.1e-4)
      expect(Math.abs(electricalInput(plate, currentA, coldC, hotC) / currentA - volts[index]!)).toBeLessThan(5.1e-4)
    })
    expect(Math.abs(closedForms(module, 298 - difference, 298).mostA - mostA)).toBeLessThan(5.1e-5)
    expect(Math.abs(heatTaken(plate, mostA, coldC, hotC) - mostW)).toBeLessThan(5.1e-5)
  })

  test.each([
    [10, 2.0659, 3.58606],
    [20, 4.1946, 1.48218],
    [30, 6.3896, 0.78136],
    [40, 8.6544, 0.4313],
    [50, 10.9927, 0.22155],
    [60, 13.4085, 0.08196],
  ])('best performance at a difference of %d K', (difference, bestA, bestCop) => {
    const [hotC, coldC] = [298 - zeroC, 298 - difference - zeroC]
    const copAt = (currentA: number): number =>
      heatTaken(plate, currentA, coldC, hotC) / electricalInput(plate, currentA, coldC, hotC)
    expect(Math.abs(copAt(bestA) - bestCop)).toBeLessThan(5.1e-6)
    expect(copAt(bestA * 1.01)).toBeLessThan(copAt(bestA))
    expect(copAt(bestA * 0.99)).toBeLessThan(copAt(bestA))
    expect(closedForms(module, 298 - difference, 298).bestA).toBeCloseTo(bestA, 4)
  })

  test('identities that the three constants must keep', () => {
    const { z, mostA } = closedForms(module, 230, 298)
    expect(mostA).toBeCloseTo(15.4, 12)
    expect((z * 230 ** 2) / 2).toBeCloseTo(68, 11)
    expect(electricalInput(plate, 15.4, 230 - zeroC, 298 - zeroC) / 15.4).toBeCloseTo(15.8, 12)
    expect(heatTaken(plate, 15.4, 230 - zeroC, 298 - zeroC)).toBeCloseTo(0, 10)
  })

  test('the best figures of a module in closed form', () => {
    // The table's I_q and Q at I_q for no difference, and its identities at the largest difference.
    const best = moduleFigures(module, 298 - zeroC)
    expect(Math.abs(best.heatA - 19.953)).toBeLessThan(5.1e-5)
    expect(Math.abs(best.heatW - 157.629)).toBeLessThan(5.1e-5)
    expect(best.differenceK).toBeCloseTo(68, 10)
    expect(best.differenceA).toBeCloseTo(15.4, 10)
    // Z = 2ΔT/(Th − ΔT)², as Lineykin and Ben-Yaakov write it.
    expect(best.meritPerK).toBeCloseTo((2 * 68) / 230 ** 2, 14)
    expect(best.meritAtHot).toBeCloseTo(298 * best.meritPerK, 12)
    // No current does better, on either count.
    for (const currentA of [15, 15.3, 15.5, 16]) {
      expect(heatTaken(plate, currentA, 230 - zeroC, 298 - zeroC)).toBeLessThan(0)
    }
    for (const currentA of [19, 19.9, 20, 21]) {
      expect(heatTaken(plate, currentA, 298 - zeroC, 298 - zeroC)).toBeLessThan(best.heatW)
    }
  })

  test('each datasheet figure from the other three', () => {
    // Heat as the table's last column has it; the others are its inverses, so that a sound sheet gives itself back.
    const sheet = { hotC: 298 - zeroC, currentA: 15.4, voltageV: 15.8, heatW: 151.4, differenceK: 68 }
    const others = fromOtherFigures(sheet)
    expect(Math.abs(others.heatW - 149.421)).toBeLessThan(5.1e-4)
    for (const field of ['currentA', 'voltageV', 'differenceK'] as const) {
      expect(fromOtherFigures({ ...sheet, [field]: others[field] }).heatW).toBeCloseTo(151.4, 10)
    }
  })

  test('heat out is heat in and electrical input', () => {
    const built: ThermoelectricCooler = {
      kind: 'thermoelectric',
      ...stack(module, 3),
      driveCurrentA: 7,
      driveWhenOff: true,
      blockResistanceKPerW: 0.03,
      radiator: [{ dutyPct: 100, resistanceKPerW: 0.05 }],
      plateHeatJPerK: 150,
      coolantHeatJPerK: 3000,
    }
    const found = plateAt(prepareCurve(built, { drive: { kind: 'full' }, fan: [] }, { airC: 25, humidityPct: 50 }), 120)
    const hotC = found.hotC ?? Number.NaN
    const outW = 120 + electricalInput(built, 7, found.plateC, hotC)
    expect(heatTaken(built, 7, found.plateC, hotC)).toBeCloseTo(120, 9)
    expect(found.driveW).toBeCloseTo(outW - 120, 9)
    expect(found.coolantC).toBeCloseTo(25 + 0.05 * outW, 9)
    expect(hotC).toBeCloseTo(found.coolantC + 0.03 * outW, 9)
  })
})
