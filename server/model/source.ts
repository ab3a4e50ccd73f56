/**
 * Heat of a load as a function of the die temperature at one ratio, or at two ratios with fixed shares of
 * time (model sections 3 and 4), in the form that the solvers need: value, slope and bounds.
 */

import { dieVoltageV, leakageA } from './voltage.ts'

const LN2 = Math.LN2

/** A supply rail behind a load line: voltage, and with it all power, depends on the temperature. */
export interface DroopPart {
  readonly share: number
  /** It is a further rail of the same level as the part before it: of all of these the hottest core counts. */
  readonly isBeside: boolean
  readonly setV: number
  readonly loadLineOhm: number
  readonly dynamicWPerV2: number
  /** As `hotBaseW` of the source, for each V². */
  readonly hotWPerV2: number
  /** Leakage in W/V^k at the source's `leakageAtC`. */
  readonly leakageWPerVk: number
  readonly exponent: number
  /** The two voltages last found, each behind its leakage: a search asks for the ends of its runs again and again. */
  readonly found: number[]
}

export interface HeatSource {
  /** Power that does not depend on temperature: shared or idle power, and the dynamic power without load line. */
  readonly baseW: number
  /** Leakage without load line at `leakageAtC`; it doubles with the temperature. */
  readonly leakageW: number
  readonly leakageAtC: number
  /** ln 2 over the doubling interval, 1/K. */
  readonly growthPerK: number
  /**
   * What lifts the hottest core over the die, without load line: for one group of cores its dynamic power. Of several the
   * one whose θ_core · P_dyn / n is largest counts, as the power that would do the same at `coreKPerW`.
   */
  readonly hotBaseW: number
  readonly packageKPerW: number
  /** θ_core · u / n, u being how uneven the load is; of several groups the largest. */
  readonly coreKPerW: number
  /** One for each supply rail and level; empty without a load line. */
  readonly droop: readonly DroopPart[]
  /** The least power and hot power at any temperature, once they were looked for behind a load line. */
  readonly least: number[]
}

/** What a source gives at one temperature; the caller's own, filled again at each look. */
export interface Heat {
  powerW: number
  /** What lifts the hottest core: `coreKPerW` times this is its rise over the die. */
  hotW: number
  powerSlope: number
  hotSlope: number
}

export const emptyHeat = (): Heat => ({ powerW: 0, hotW: 0, powerSlope: 0, hotSlope: 0 })

/** Without a load line the least power is that of cold: nothing is looked for. */
export const unsought: number[] = []

/** A load whose power does not depend on temperature: `idle` at its power, `off` at 0. */
export function constantSource(powerW: number, packageKPerW: number): HeatSource {
  return {
    baseW: powerW,
    leakageW: 0,
    leakageAtC: 0,
    growthPerK: 0,
    hotBaseW: 0,
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
    hotBaseW: share * first.hotBaseW + rest * second.hotBaseW,
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

/** The growth last worked out, behind its exponent, replaced by the next: the two ratios that share a clock are asked about in turn. */
const lastGrowth = new Float64Array([Number.NaN, 1])

/** How many times the leakage at `leakageAtC` there is at a die temperature; no more than a number can hold. */
export function growthAt({ growthPerK, leakageAtC }: HeatSource, dieC: number): number {
  if (growthPerK === 0) return 1
  const exponent = growthPerK * (dieC - leakageAtC)
  if (lastGrowth[0] === exponent) return lastGrowth[1] as number
  const growth = Math.min(Number.MAX_VALUE, Math.exp(exponent))
  lastGrowth[0] = exponent
  lastGrowth[1] = growth
  return growth
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

const none: readonly number[] = [Number.NaN, Number.NaN, Number.NaN, Number.NaN]

/**
 * Nothing found yet: a voltage is never looked for behind a leakage that is no number. Plain lists, because a typed array
 * takes far longer to make than to fill, and every ratio that is asked about has two.
 */
export const noneFound = (): number[] => none.slice()

/** Puts power, hot power and their slopes over temperature at `dieC` into `out`. */
export function heatOf(source: HeatSource, dieC: number, out: Heat): void {
  const growth = growthAt(source, dieC)
  const leakage = source.leakageW * growth
  out.powerW = source.baseW + leakage
  out.powerSlope = source.growthPerK * leakage
  out.hotW = source.hotBaseW
  out.hotSlope = 0
  const { droop } = source
  // Without a load line this is all: most looks end here.
  if (droop.length > 0) addDroop(source, droop, growth, out)
}

function addDroop({ growthPerK }: HeatSource, droop: readonly DroopPart[], growth: number, out: Heat): void {
  let levelW = 0
  let levelSlope = 0
  for (let at = 0; at < droop.length; at++) {
    const part = droop[at] as DroopPart
    const { share, setV, loadLineOhm, dynamicWPerV2, hotWPerV2, exponent } = part
    const perVk = part.leakageWPerVk * growth
    const volts = droopVoltage(part, perVk)
    const leakA = leakageA(volts, setV, loadLineOhm, perVk, exponent)
    const squared = volts * volts
    const dynamicW = dynamicWPerV2 * squared
    const slopes = volts * (1 + loadLineOhm * dynamicWPerV2) + loadLineOhm * (exponent - 1) * leakA
    const weight = volts > 0 ? (growthPerK * leakA * volts) / slopes : 0
    const hotW = hotWPerV2 * squared
    const hotSlope = share * weight * 2 * hotWPerV2 * loadLineOhm * volts
    out.powerW += share * (dynamicW + leakA * volts)
    out.powerSlope += share * weight * (2 * volts - setV)
    if (!part.isBeside) {
      out.hotW += share * hotW
      out.hotSlope -= hotSlope
      levelW = hotW
      levelSlope = hotSlope
    } else if (hotW > levelW) {
      out.hotW += share * (hotW - levelW)
      out.hotSlope -= hotSlope - levelSlope
      levelW = hotW
      levelSlope = hotSlope
    }
  }
}

/** Bounds over a run of temperatures; filled by `boundHeat`. */
export interface HeatBounds {
  /** Least power anywhere in the run. */
  leastW: number
  /** Greatest power anywhere in the run. */
  mostW: number
  leastHotW: number
  mostHotW: number
  /** No slope of the power in the run is smaller. */
  powerSlope: number
  hotSlope: number
}

export function emptyBounds(): HeatBounds {
  return { leastW: 0, mostW: 0, leastHotW: 0, mostHotW: 0, powerSlope: 0, hotSlope: 0 }
}

/**
 * Bounds on power and slopes between two die temperatures. Behind a load line the die voltage V falls as the
 * die warms, the total V·(V_set − V)/R has one maximum, at V_set/2, and with J the leakage current
 *
 *     dP/dT = W · (2V − V_set),  dP_dyn/dT = −2 A R V · W,  W = growth / ((1 + RA)/J + R(k − 1)/V),
 *
 * with factors that are monotone in V, so that the values at the two ends bound it. Where several rails make one level,
 * the hottest core is that of the rail that lifts it most; its bounds are the largest of theirs, its slope the least.
 */
export function boundHeat(source: HeatSource, fromC: number, toC: number, out: HeatBounds): void {
  const cold = growthAt(source, fromC)
  const warm = growthAt(source, toC)
  out.leastW = source.baseW + source.leakageW * cold
  out.mostW = source.baseW + source.leakageW * warm
  out.leastHotW = out.mostHotW = source.hotBaseW
  out.powerSlope = source.growthPerK * source.leakageW * cold
  out.hotSlope = 0
  const { droop } = source
  for (let at = 0; at < droop.length; at++) boundDroop(source, droop[at] as DroopPart, cold, warm, out)
}

/** Bounds of the hottest core over the rails of the level that is being gone through. */
const level = { leastW: 0, mostW: 0, slope: 0 }

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
  const linear = 1 + loadLineOhm * dynamicWPerV2
  const bend = loadLineOhm * (exponent - 1)
  // W rises with J and with V; over the run J rises while V falls, so each bound takes the end that suits it.
  const least = lowV > 0 && lowA > 0 ? source.growthPerK / (linear / lowA + bend / lowV) : 0
  const most = highV > 0 && highA > 0 ? source.growthPerK / (linear / highA + bend / highV) : 0
  const lean = 2 * lowV - setV
  out.powerSlope += share * (lean >= 0 ? least : most) * lean
  const leastHotW = share * part.hotWPerV2 * lowV * lowV
  const mostHotW = share * part.hotWPerV2 * highV * highV
  const hotSlope = share * most * 2 * part.hotWPerV2 * loadLineOhm * highV
  if (!part.isBeside) {
    out.leastHotW += leastHotW
    out.mostHotW += mostHotW
    out.hotSlope -= hotSlope
    level.leastW = leastHotW
    level.mostW = mostHotW
    level.slope = hotSlope
    return
  }
  if (leastHotW > level.leastW) {
    out.leastHotW += leastHotW - level.leastW
    level.leastW = leastHotW
  }
  if (mostHotW > level.mostW) {
    out.mostHotW += mostHotW - level.mostW
    level.mostW = mostHotW
  }
  // What is no number must not be lost.
  if (!(hotSlope <= level.slope)) {
    out.hotSlope -= hotSlope - level.slope
    level.slope = hotSlope
  }
}
