/**
 * The heat that thermoelectric modules take from the plate and give to the block: the one place for their physics, in
 * steady state as over time (model section 5).
 *
 * Per module Q = α i Tc − i²R/2 − K (Th − Tc), after Kraus, "Cooling of Electronic Equipment", in the Mechanical
 * Engineers' Handbook (Kutz). Temperatures count from the air, so that what is small stays exact; kelvin stand only
 * where the Seebeck coefficient meets them.
 */

import { ZERO_C_IN_K } from '../../humidity.ts'
import type { Drive, ThermoelectricCooler } from '../../types.ts'

/** A constant over the mean temperature T in kelvin: a + b·T + c·T², for bismuth telluride. */
interface Scale {
  readonly a: number
  readonly b: number
  readonly c: number
}

/**
 * Polynomials of a bismuth-telluride couple as several makers print them, between 200 and 450 K: α in 1e-9 V/K, the
 * resistivity in 1e-10 Ωm, the conductivity in 1e-4 W/(m K). Only their ratios between two temperatures are used.
 */
const SEEBECK: Scale = { a: 22224, b: 930.6, c: -0.9905 }
const RESISTIVITY: Scale = { a: 5112, b: 163.4, c: 0.6279 }
const CONDUCTIVITY: Scale = { a: 62605, b: -277.7, c: 0.4131 }
const COLDEST_MEAN_K = 200
const WARMEST_MEAN_K = 450

const clamped = (meanK: number): number => Math.min(WARMEST_MEAN_K, Math.max(COLDEST_MEAN_K, meanK))
const scaleAt = ({ a, b, c }: Scale, meanK: number): number => a + (b + c * meanK) * meanK

/** How the current through each module follows from its temperatures. */
export type CurrentLaw =
  | { readonly kind: 'constant'; readonly currentA: number }
  | {
      readonly kind: 'supply'
      /** The supply's voltage for each module in a row. */
      readonly voltageV: number
      /** The leads' resistance as each module in a row sees it. */
      readonly leadsOhm: number
      /** The lower of `drive-current` and the module's share of the supply's limit. */
      readonly mostA: number
    }

/** Modules side by side. For pulses α and R are those of the share of time, and the current is the pulses' height. */
export interface Stack {
  readonly modules: number
  readonly seebeckVPerK: number
  readonly resistanceOhm: number
  readonly conductanceWPerK: number
  /** The mean that the constants hold at; NaN where they hold at every one. */
  readonly constantsAtK: number
  /** Constants over the value of their polynomials at that mean. */
  readonly seebeckScale: number
  readonly resistanceScale: number
  readonly conductanceScale: number
  readonly blockKPerW: number
  readonly leakWPerK: number
  readonly airK: number
}

/** What of a cooler the stack is made of. */
export type Modules = Pick<
  ThermoelectricCooler,
  | 'modules'
  | 'seebeckVPerK'
  | 'resistanceOhm'
  | 'conductanceWPerK'
  | 'constantsAtC'
  | 'blockResistanceKPerW'
  | 'plateLeakWPerK'
>

/** @param dutyShare share of the time that current flows, 1 unless it is pulsed */
export function stackOf(modules: Modules, airC: number, dutyShare = 1): Stack {
  const seebeckVPerK = modules.seebeckVPerK * dutyShare
  const resistanceOhm = modules.resistanceOhm * dutyShare
  const { conductanceWPerK, constantsAtC } = modules
  const constantsAtK = constantsAtC === undefined ? Number.NaN : clamped(constantsAtC + ZERO_C_IN_K)
  return {
    modules: modules.modules,
    seebeckVPerK,
    resistanceOhm,
    conductanceWPerK,
    constantsAtK,
    seebeckScale: seebeckVPerK / scaleAt(SEEBECK, constantsAtK),
    resistanceScale: resistanceOhm / scaleAt(RESISTIVITY, constantsAtK),
    conductanceScale: conductanceWPerK / scaleAt(CONDUCTIVITY, constantsAtK),
    blockKPerW: modules.blockResistanceKPerW,
    leakWPerK: modules.plateLeakWPerK ?? 0,
    airK: airC + ZERO_C_IN_K,
  }
}

/** Whether the constants are the same at every temperature. */
export const isConstant = (stack: Stack): boolean => Number.isNaN(stack.constantsAtK)

/** The law of a drive that knows no target. */
export function lawOf(cooler: ThermoelectricCooler, drive: Exclude<Drive, { kind: 'dew' | 'hold' }>): CurrentLaw {
  const { driveCurrentA } = cooler
  switch (drive.kind) {
    case 'full':
    case 'pulsed':
      return { kind: 'constant', currentA: driveCurrentA }
    case 'fixed':
      return { kind: 'constant', currentA: Math.min(driveCurrentA, Math.max(0, drive.currentA)) }
    case 'off':
      return { kind: 'constant', currentA: 0 }
    case 'supply': {
      const { series, parallel } = wiringOf(cooler)
      return {
        kind: 'supply',
        voltageV: drive.voltageV / series,
        leadsOhm: ((cooler.leadsOhm ?? 0) * parallel) / series,
        mostA: supplyMostA(cooler),
      }
    }
  }
}

export function wiringOf(cooler: ThermoelectricCooler): { readonly series: number; readonly parallel: number } {
  const parallel = cooler.wiringParallel ?? 1
  return { series: cooler.wiringSeries ?? cooler.modules / parallel, parallel }
}

function supplyMostA(cooler: ThermoelectricCooler): number {
  const shareA = (cooler.supplyLimitA ?? Number.POSITIVE_INFINITY) / wiringOf(cooler).parallel
  return Math.min(cooler.driveCurrentA, shareA)
}

/** One module's constants at a mean temperature, and how they change with it. */
export interface Constants {
  alpha: number
  ohm: number
  k: number
  alphaSlope: number
  ohmSlope: number
  kSlope: number
}

const emptyConstants = (): Constants => ({ alpha: 0, ohm: 0, k: 0, alphaSlope: 0, ohmSlope: 0, kSlope: 0 })

export function constantsAt(stack: Stack, meanK: number, out: Constants): void {
  if (Number.isNaN(stack.constantsAtK)) {
    out.alpha = stack.seebeckVPerK
    out.ohm = stack.resistanceOhm
    out.k = stack.conductanceWPerK
    out.alphaSlope = out.ohmSlope = out.kSlope = 0
    return
  }
  const at = clamped(meanK)
  out.alpha = stack.seebeckScale * scaleAt(SEEBECK, at)
  out.ohm = stack.resistanceScale * scaleAt(RESISTIVITY, at)
  out.k = stack.conductanceScale * scaleAt(CONDUCTIVITY, at)
  const moves = at === meanK ? 1 : 0
  out.alphaSlope = moves * stack.seebeckScale * (SEEBECK.b + 2 * SEEBECK.c * at)
  out.ohmSlope = moves * stack.resistanceScale * (RESISTIVITY.b + 2 * RESISTIVITY.c * at)
  out.kSlope = moves * stack.conductanceScale * (CONDUCTIVITY.b + 2 * CONDUCTIVITY.c * at)
}

/** Heats of the whole stack at given sides and current, with their slopes. */
export interface Flows extends Constants {
  currentA: number
  /** What keeps a supply's voltage from driving what it asks for. */
  boundBy: 'none' | 'no-current' | 'drive-current'
  /** Into the plate from the load: what the modules take from it, less what leaks in from the air. */
  heatW: number
  heatByCold: number
  heatByHot: number
  heatByCurrent: number
  /** Into the block. */
  outW: number
  outByCold: number
  outByHot: number
  outByCurrent: number
}

export const emptyFlows = (): Flows => ({
  ...emptyConstants(),
  currentA: 0,
  boundBy: 'none',
  heatW: 0,
  heatByCold: 0,
  heatByHot: 0,
  heatByCurrent: 0,
  outW: 0,
  outByCold: 0,
  outByHot: 0,
  outByCurrent: 0,
})

/** The heats at a current; constants already in `out` stand for the mean of the two sides. */
export function flowsAt(stack: Stack, coldK: number, hotK: number, currentA: number, out: Flows): void {
  const { modules, airK, leakWPerK } = stack
  const { alpha, ohm, k, alphaSlope, ohmSlope, kSlope } = out
  const across = hotK - coldK
  const cold = airK + coldK
  const hot = airK + hotK
  const pumped = alpha * currentA
  const joule = (currentA * currentA * ohm) / 2
  const through = k * across
  // The mean moves by half of what a side moves.
  const pumpedSlope = (alphaSlope * currentA) / 2
  const jouleSlope = (currentA * currentA * ohmSlope) / 4
  const throughSlope = (kSlope * across) / 2
  out.currentA = currentA
  out.heatW = modules * (pumped * cold - joule - through) + leakWPerK * coldK
  const heatByMean = pumpedSlope * cold - jouleSlope - throughSlope
  out.heatByCold = modules * (heatByMean + pumped + k) + leakWPerK
  out.heatByHot = modules * (heatByMean - k)
  out.heatByCurrent = modules * (alpha * cold - currentA * ohm)
  out.outW = modules * (pumped * hot + joule - through)
  const outByMean = pumpedSlope * hot + jouleSlope - throughSlope
  out.outByCold = modules * (outByMean + k)
  out.outByHot = modules * (outByMean + pumped - k)
  out.outByCurrent = modules * (alpha * hot + currentA * ohm)
}

/** The heats under a law, whose current follows the two sides; slopes over them include that. */
export function flowsUnder(stack: Stack, law: CurrentLaw, coldK: number, hotK: number, out: Flows): void {
  constantsAt(stack, stack.airK + (coldK + hotK) / 2, out)
  out.boundBy = 'none'
  if (law.kind === 'constant') {
    flowsAt(stack, coldK, hotK, law.currentA, out)
    return
  }
  const across = hotK - coldK
  const ohms = out.ohm + law.leadsOhm
  const asked = (law.voltageV - out.alpha * across) / ohms
  if (asked <= 0) out.boundBy = 'no-current'
  else if (asked >= law.mostA) out.boundBy = 'drive-current'
  flowsAt(stack, coldK, hotK, Math.min(law.mostA, Math.max(0, asked)), out)
  if (out.boundBy !== 'none') return
  const byMean = -(out.alphaSlope * across + asked * out.ohmSlope) / 2
  const byCold = (byMean + out.alpha) / ohms
  const byHot = (byMean - out.alpha) / ohms
  out.heatByCold += out.heatByCurrent * byCold
  out.heatByHot += out.heatByCurrent * byHot
  out.outByCold += out.outByCurrent * byCold
  out.outByHot += out.outByCurrent * byHot
}
