/**
 * Heat of a load as a function of the die temperature at one ratio, or at two ratios with fixed shares of
 * time (model sections 3 and 4), in the form that the solvers need: value, slope and bounds.
 */

import { dieVoltageV } from './voltage.ts'

const LN2 = Math.LN2

/** The same load behind a load line: voltage, and with it all power, depends on the temperature. */
export interface DroopPart {
  readonly share: number
  readonly setV: number
  readonly loadLineOhm: number
  readonly dynamicWPerV2: number
  /** Leakage in W/V^k at 0 °C; it doubles with the temperature. */
  readonly leakageWPerVkAtZero: number
  readonly exponent: number
}

export interface HeatSource {
  /** Power that does not depend on temperature: shared or idle power, and the dynamic power without load line. */
  readonly baseW: number
  /** Leakage at 0 °C without load line. */
  readonly leakageAtZeroW: number
  /** ln 2 over the doubling interval, 1/K. */
  readonly growthPerK: number
  /** Dynamic power without load line. */
  readonly dynamicBaseW: number
  readonly packageKPerW: number
  /** θ_core · u / n, u being how uneven the load is. */
  readonly coreKPerW: number
  /** Empty without a load line. */
  readonly droop: readonly DroopPart[]
}

/** What a source gives at one temperature; the caller's own, filled again at each look. */
export interface Heat {
  powerW: number
  dynamicW: number
  powerSlope: number
  dynamicSlope: number
}

export const emptyHeat = (): Heat => ({ powerW: 0, dynamicW: 0, powerSlope: 0, dynamicSlope: 0 })

/** A load whose power does not depend on temperature: `idle` at its power, `off` at 0. */
export function constantSource(powerW: number, packageKPerW: number): HeatSource {
  return {
    baseW: powerW,
    leakageAtZeroW: 0,
    growthPerK: 0,
    dynamicBaseW: 0,
    packageKPerW,
    coreKPerW: 0,
    droop: [],
  }
}

/** Two sources of the same load with fixed shares of time; `share` belongs to the first. */
export function mixedSource(first: HeatSource, second: HeatSource, share: number): HeatSource {
  const rest = 1 - share
  return {
    baseW: share * first.baseW + rest * second.baseW,
    leakageAtZeroW: share * first.leakageAtZeroW + rest * second.leakageAtZeroW,
    growthPerK: first.growthPerK,
    dynamicBaseW: share * first.dynamicBaseW + rest * second.dynamicBaseW,
    packageKPerW: first.packageKPerW,
    coreKPerW: first.coreKPerW,
    droop: [
      ...first.droop.map(part => ({ ...part, share: part.share * share })),
      ...second.droop.map(part => ({ ...part, share: part.share * rest })),
    ],
  }
}

/** ln 2 / D in 1/K. */
export function growthPerK(doublingK: number): number {
  return LN2 / doublingK
}

function droopVoltage(part: DroopPart, leakage: number): number {
  return dieVoltageV(part.setV, part.loadLineOhm, part.dynamicWPerV2, leakage, part.exponent)
}

/** Puts power, dynamic power and their slopes over temperature at `dieC` into `out`. */
export function heatOf(source: HeatSource, dieC: number, out: Heat): void {
  const growth = source.growthPerK === 0 ? 1 : Math.exp(source.growthPerK * dieC)
  const leakage = source.leakageAtZeroW * growth
  out.powerW = source.baseW + leakage
  out.powerSlope = source.growthPerK * leakage
  out.dynamicW = source.dynamicBaseW
  out.dynamicSlope = 0
  for (const part of source.droop) {
    const perVk = part.leakageWPerVkAtZero * growth
    const volts = droopVoltage(part, perVk)
    const leakA = perVk * volts ** (part.exponent - 1)
    const dynamicW = part.dynamicWPerV2 * volts * volts
    const slopes = volts * (1 + part.loadLineOhm * part.dynamicWPerV2) + part.loadLineOhm * (part.exponent - 1) * leakA
    const weight = volts > 0 ? (source.growthPerK * leakA * volts) / slopes : 0
    out.powerW += part.share * (dynamicW + leakA * volts)
    out.dynamicW += part.share * dynamicW
    out.powerSlope += part.share * weight * (2 * volts - part.setV)
    out.dynamicSlope -= part.share * weight * 2 * part.dynamicWPerV2 * part.loadLineOhm * volts
  }
}

/** Bounds over a run of temperatures; filled by `boundHeat`. */
export interface HeatBounds {
  /** Least power anywhere in the run. */
  leastW: number
  /** Greatest power anywhere in the run. */
  mostW: number
  leastDynamicW: number
  mostDynamicW: number
  /** No slope of the power in the run is smaller. */
  powerSlope: number
  dynamicSlope: number
}

export function emptyBounds(): HeatBounds {
  return { leastW: 0, mostW: 0, leastDynamicW: 0, mostDynamicW: 0, powerSlope: 0, dynamicSlope: 0 }
}

/**
 * Bounds on power and slopes between two die temperatures. Behind a load line the die voltage V falls as the
 * die warms, the total V·(V_set − V)/R has one maximum, at V_set/2, and with J the leakage current
 *
 *     dP/dT = W · (2V − V_set),  dP_dyn/dT = −2 A R V · W,  W = growth / ((1 + RA)/J + R(k − 1)/V),
 *
 * with factors that are monotone in V, so that the values at the two ends bound it.
 */
export function boundHeat(source: HeatSource, fromC: number, toC: number, out: HeatBounds): void {
  const cold = source.growthPerK === 0 ? 1 : Math.exp(source.growthPerK * fromC)
  const warm = source.growthPerK === 0 ? 1 : Math.exp(source.growthPerK * toC)
  out.leastW = source.baseW + source.leakageAtZeroW * cold
  out.mostW = source.baseW + source.leakageAtZeroW * warm
  out.leastDynamicW = out.mostDynamicW = source.dynamicBaseW
  out.powerSlope = source.growthPerK * source.leakageAtZeroW * cold
  out.dynamicSlope = 0
  for (const part of source.droop) boundDroop(source, part, cold, warm, out)
}

function boundDroop(source: HeatSource, part: DroopPart, cold: number, warm: number, out: HeatBounds): void {
  const { loadLineOhm, dynamicWPerV2, exponent, setV, share } = part
  const highV = droopVoltage(part, part.leakageWPerVkAtZero * cold)
  const lowV = droopVoltage(part, part.leakageWPerVkAtZero * warm)
  const lowA = part.leakageWPerVkAtZero * cold * highV ** (exponent - 1)
  const highA = part.leakageWPerVkAtZero * warm * lowV ** (exponent - 1)
  const coldW = (dynamicWPerV2 * highV + lowA) * highV
  const warmW = (dynamicWPerV2 * lowV + highA) * lowV
  const turns = highV > setV / 2 && lowV < setV / 2
  out.leastW += share * Math.min(coldW, warmW)
  out.mostW += share * (turns ? (setV * setV) / (4 * loadLineOhm) : Math.max(coldW, warmW))
  out.leastDynamicW += share * dynamicWPerV2 * lowV * lowV
  out.mostDynamicW += share * dynamicWPerV2 * highV * highV
  const linear = 1 + loadLineOhm * dynamicWPerV2
  const bend = loadLineOhm * (exponent - 1)
  // W rises with J and with V; over the run J rises while V falls, so each bound takes the end that suits it.
  const least = lowV > 0 && lowA > 0 ? source.growthPerK / (linear / lowA + bend / lowV) : 0
  const most = highV > 0 && highA > 0 ? source.growthPerK / (linear / highA + bend / highV) : 0
  const lean = 2 * lowV - setV
  out.powerSlope += share * (lean >= 0 ? least : most) * lean
  out.dynamicSlope -= share * most * 2 * dynamicWPerV2 * loadLineOhm * highV
}
