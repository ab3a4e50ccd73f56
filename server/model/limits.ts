/** Electrical limits: the cap of `current` and `burst-power`, and the mean of `sustained-power` (model section 8). */

import { lowestRoot } from './balance.ts'
import { emptyPoint, type PlateCurve } from './cooler/curve.ts'
import { type PreparedBench, type PreparedLoad, type RatioSource, ratioSource } from './prepare.ts'
import { cappedLevels, type Level, ratioStepCount, ratioStepsDown } from './ratio.ts'
import { rootBetween } from './root.ts'
import { type DroopPart, emptyHeat, type HeatSource, heatOf } from './source.ts'
import type { Limiter } from './types.ts'
import { dieVoltageV } from './voltage.ts'

export interface Capped {
  readonly levels: readonly Level[]
  /** Even the lowest ratio breaks `current` or `burst-power`. */
  readonly isOver: boolean
}

const heat = emptyHeat()
const point = emptyPoint()

/** Current in A at a die temperature: through the load line all that is not shared power. */
function currentAt(prepared: PreparedBench, at: RatioSource, dieC: number): number {
  const { source } = at
  const droop = source.droop[0]
  if (droop === undefined) {
    heatOf(source, dieC, heat)
    return (heat.powerW - prepared.bench.part.sharedPowerW) / at.setV
  }
  const leakage = droop.leakageWPerVkAtZero * Math.exp(source.growthPerK * dieC)
  const volts = dropVoltage(droop, leakage)
  return droop.dynamicWPerV2 * volts + leakage * volts ** (droop.exponent - 1)
}

function dropVoltage(part: DroopPart, leakage: number): number {
  return dieVoltageV(part.setV, part.loadLineOhm, part.dynamicWPerV2, leakage, part.exponent)
}

function powerAtC(source: HeatSource, dieC: number): number {
  heatOf(source, dieC, heat)
  return heat.powerW
}

/** Whether a ratio breaks each of the two limits that hold at every instant. */
interface Broken {
  current: boolean
  burst: boolean
}

function breaksLimits(prepared: PreparedBench, curve: PlateCurve, at: RatioSource, out: Broken): void {
  const { currentA, burstPowerW } = prepared.bench.profile.limits
  const mostA = currentA ?? Number.POSITIVE_INFINITY
  const mostW = burstPowerW ?? Number.POSITIVE_INFINITY
  const ceilingC = prepared.ceilingC
  // Without a load line power and current rise with temperature: within both at D is within both below it.
  const straight = at.source.droop.length === 0
  if (straight && currentAt(prepared, at, ceilingC) <= mostA && powerAtC(at.source, ceilingC) <= mostW) {
    out.current = out.burst = false
    return
  }
  const judgedC = Math.min(lowestRoot(at.source, curve, 0), ceilingC)
  out.current = currentAt(prepared, at, judgedC) > mostA
  out.burst = powerAtC(at.source, judgedC) > mostW
}

const broken: Broken = { current: false, burst: false }

/** The levels under the highest ratio, in ratio-steps down from the first level, that keeps both limits. */
export function capLevels(prepared: PreparedBench, loaded: PreparedLoad, curve: PlateCurve): Capped {
  const { levels } = loaded
  const { part, profile } = prepared.bench
  const first = levels[0]
  if (first === undefined || (profile.limits.currentA === undefined && profile.limits.burstPowerW === undefined)) {
    return { levels, isOver: false }
  }
  let limiter: Limiter = first.limiter
  const count = ratioStepCount(part, first.ratio)
  for (let index = 0; index <= count; index++) {
    const ratio = ratioStepsDown(part, first.ratio, index)
    breaksLimits(prepared, curve, ratioSource(prepared, loaded, ratio), broken)
    if (!broken.current && !broken.burst) return { levels: cappedLevels(levels, ratio, limiter), isOver: false }
    // Should the next ratio do, this one is the next ratio up, whose breach names the limiter.
    const isLast = index === count
    if (!isLast || index === 0) limiter = broken.current ? 'current' : 'burst-power'
  }
  const lowest = Math.min(first.ratio, part.ratioLow)
  return { levels: [{ ratio: lowest, enteredC: Number.NEGATIVE_INFINITY, limiter }], isOver: true }
}

/** The clock alternating between two ratio-steps at a mean power of exactly S. */
export interface SustainedMean {
  readonly fast: RatioSource
  readonly slow: RatioSource
  readonly dieC: number
  readonly shareFast: number
}

/**
 * The highest ratio, in ratio-steps down from `capRatio`, whose lowest balance exists, is below D, draws no more
 * than S and gives shares within 0 to 1 with the ratio-step above it; undefined where none serves. The cap itself
 * has no permitted step above it, so the search begins one step below.
 */
export function sustainedMean(
  prepared: PreparedBench,
  loaded: PreparedLoad,
  curve: PlateCurve,
  capRatio: number,
  sustainedW: number,
): SustainedMean | undefined {
  const { part } = prepared.bench
  const count = ratioStepCount(part, capRatio)
  for (let index = 1; index <= count; index++) {
    const slow = ratioSource(prepared, loaded, ratioStepsDown(part, capRatio, index))
    const dieC = lowestRoot(slow.source, curve, 0)
    if (!(dieC < prepared.ceilingC && powerAtC(slow.source, dieC) <= sustainedW)) continue
    const fast = ratioSource(prepared, loaded, ratioStepsDown(part, capRatio, index - 1))
    const mean = meanAt(fast, slow, curve, sustainedW)
    if (mean !== undefined) return mean
  }
  return undefined
}

/**
 * T with T = T_plate(S) + θ_package·S + θ_core·P̄_dyn/n, where the shares that make the mean power S at T give
 * P̄_dyn. The right side falls as T rises (the faster ratio's share shrinks), so there is one root.
 */
function meanAt(
  fast: RatioSource,
  slow: RatioSource,
  curve: PlateCurve,
  sustainedW: number,
): SustainedMean | undefined {
  curve.evaluate(sustainedW, point)
  const { packageKPerW, coreKPerW } = slow.source
  const baseC = point.plateC + packageKPerW * sustainedW
  if (!Number.isFinite(baseC)) return undefined
  const dieC = rootBetween(
    (at, out) => {
      out.value = at - baseC - coreKPerW * meanDynamic(fast.source, slow.source, at, sustainedW)
      out.slope = Number.NaN
    },
    baseC,
    baseC + coreKPerW * sustainedW,
    baseC + coreKPerW * meanDynamic(fast.source, slow.source, baseC, sustainedW),
  )
  const shareFast = shareForPower(fast.source, slow.source, dieC, sustainedW)
  // Shares outside say that these two ratios cannot make that mean at that temperature.
  if (!(shareFast > -1e-9 && shareFast < 1 + 1e-9)) return undefined
  return { fast, slow, dieC, shareFast: Math.min(1, Math.max(0, shareFast)) }
}

/** Share of the faster ratio that gives a mean power at a temperature. */
function shareForPower(fast: HeatSource, slow: HeatSource, dieC: number, powerW: number): number {
  const slowW = powerAtC(slow, dieC)
  return (powerW - slowW) / (powerAtC(fast, dieC) - slowW)
}

function meanDynamic(fast: HeatSource, slow: HeatSource, dieC: number, powerW: number): number {
  heatOf(fast, dieC, heat)
  const { powerW: fastW, dynamicW: fastDynamicW } = heat
  heatOf(slow, dieC, heat)
  const share = Math.min(1, Math.max(0, (powerW - heat.powerW) / (fastW - heat.powerW)))
  return heat.dynamicW + share * (fastDynamicW - heat.dynamicW)
}
