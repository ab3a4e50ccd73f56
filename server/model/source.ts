/**
 * Heat of a load as a function of the die temperature at one ratio, or at two ratios with fixed shares of
 * time (model sections 3 and 4), in the form that the solvers need: value, slope and bounds.
 */

import { dieVoltageV, leakageA } from './voltage.ts'

const LN2 = Math.LN2

/** The same load behind a load line: voltage, and with it all power, depends on the temperature. */
export interface DroopPart {
  readonly share: number
  readonly setV: number
  readonly loadLineOhm: number
  readonly dynamicWPerV2: number
  /** Leakage in W/V^k at the source's `leakageAtC`. */
  readonly leakageWPerVk: number
  readonly exponent: number
  /** The two voltages last found, each behind its leakage: a search asks for the ends of its runs again and again. */
  readonly found: Float64Array
}

export interface HeatSource {
  /** Power that does not depend on temperature: shared or idle power, and the dynamic power without load line. */
  readonly baseW: number
  /** Leakage without load line at `leakageAtC`; it doubles with the temperature. */
  readonly leakageW: number
  readonly leakageAtC: number
  /** ln 2 over the doubling interval, 1/K. */
  readonly growthPerK: number
  /** Dynamic power without load line. */
  readonly dynamicBaseW: number
  readonly packageKPerW: number
  /** θ_core · u / n, u being how uneven the load is. */
  readonly coreKPerW: number
  /** Empty without a load line. */
  readonly droop: readonly DroopPart[]
  /** The least power and dynamic power at any temperature, once they were looked for behind a load line. */
  readonly least: Float64Array
}

/** What a source gives at one temperature; the caller's own, filled again at each look. */
export interface Heat {
  powerW: number
  dynamicW: number
  powerSlope: number
  dynamicSlope: number
}

export const emptyHeat = (): Heat => ({ powerW: 0, dynamicW: 0, powerSlope: 0, dynamicSlope: 0 })

/** Without a load line the least power is that of cold: nothing is looked for. */
export const unsought = new Float64Array(0)

/** A load whose power does not depend on temperature: `idle` at its power, `off` at 0. */
export function constantSource(powerW: number, packageKPerW: number): HeatSource {
  return {
    baseW: powerW,
    leakageW: 0,
    leakageAtC: 0,
    growthPerK: 0,
    dynamicBaseW: 0,
    packageKPerW,
    coreKPerW: 0,
    droop: [],
    least: unsought,
  }
}

/** Two sources of the same load with fixed shares of time; `share` belongs to the first. */
export function mixedSource(first: HeatSource, second: HeatSource, share: number): HeatSource {
  const rest = 1 - share
  return {
    baseW: share * first.baseW + rest * second.baseW,
    leakageW: share * first.leakageW + rest * second.leakageW,
    leakageAtC: first.leakageAtC,
    growthPerK: first.growthPerK,
    dynamicBaseW: share * first.dynamicBaseW + rest * second.dynamicBaseW,
    packageKPerW: first.packageKPerW,
    coreKPerW: first.coreKPerW,
    droop: [
      ...first.droop.map(part => ({ ...part, share: part.share * share })),
      ...second.droop.map(part => ({ ...part, share: part.share * rest })),
    ],
    least: first.droop.length === 0 ? unsought : noneFound(),
  }
}

/** ln 2 / D in 1/K. */
export function growthPerK(doublingK: number): number {
  return LN2 / doublingK
}

/** How many times the leakage at `leakageAtC` there is at a die temperature; no more than a number can hold. */
export function growthAt({ growthPerK, leakageAtC }: HeatSource, dieC: number): number {
  return growthPerK === 0 ? 1 : Math.min(Number.MAX_VALUE, Math.exp(growthPerK * (dieC - leakageAtC)))
}

/** The die voltage of a part at a leakage in W/V^k. */
export function droopVoltage(part: DroopPart, leakage: number): number {
  const { found } = part
  if (found[0] === leakage) return found[1] as number
  if (found[2] === leakage) return found[3] as number
  const volts = dieVoltageV(part.setV, part.loadLineOhm, part.dynamicWPerV2, leakage, part.exponent)
  found[2] = found[0] as number
  found[3] = found[1] as number
  found[0] = leakage
  found[1] = volts
  return volts
}

/** Nothing found yet: a voltage is never looked for behind a leakage that is no number. */
export const noneFound = (): Float64Array => new Float64Array(4).fill(Number.NaN)

/** Puts power, dynamic power and their slopes over temperature at `dieC` into `out`. */
export function heatOf(source: HeatSource, dieC: number, out: Heat): void {
  const growth = growthAt(source, dieC)
  const leakage = source.leakageW * growth
  out.powerW = source.baseW + leakage
  out.powerSlope = source.growthPerK * leakage
  out.dynamicW = source.dynamicBaseW
  out.dynamicSlope = 0
  for (const part of source.droop) {
    const perVk = part.leakageWPerVk * growth
    const volts = droopVoltage(part, perVk)
    const leakA = leakageA(volts, part.setV, part.loadLineOhm, perVk, part.exponent)
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
  const cold = growthAt(source, fromC)
  const warm = growthAt(source, toC)
  out.leastW = source.baseW + source.leakageW * cold
  out.mostW = source.baseW + source.leakageW * warm
  out.leastDynamicW = out.mostDynamicW = source.dynamicBaseW
  out.powerSlope = source.growthPerK * source.leakageW * cold
  out.dynamicSlope = 0
  for (const part of source.droop) boundDroop(source, part, cold, warm, out)
}

function boundDroop(source: HeatSource, part: DroopPart, cold: number, warm: number, out: HeatBounds): void {
  const { loadLineOhm, dynamicWPerV2, exponent, setV, share } = part
  const highV = droopVoltage(part, part.leakageWPerVk * cold)
  const lowV = droopVoltage(part, part.leakageWPerVk * warm)
  const lowA = leakageA(highV, setV, loadLineOhm, part.leakageWPerVk * cold, exponent)
  const highA = leakageA(lowV, setV, loadLineOhm, part.leakageWPerVk * warm, exponent)
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
