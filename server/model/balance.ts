/**
 * Balances of one ratio (model section 6): the roots of F(T) = RHS(T) − T with
 *
 *     RHS(T) = T_plate(P(T) + x) + θ_package · (P(T) + x) + θ_core · P_dyn(T)/n,
 *
 * x being extra heat (zero but for margins). Load lines, fan tables and target drives make RHS neither
 * monotone nor convex, so roots are not looked for by sampling: from a point with F > 0 and a lower bound m on
 * RHS′ over a run there is no root before F/(1 − m) further on. Stepping so, the first root met is the
 * lowest; as the runs shrink m tends to RHS′ and the steps become Newton's.
 */

import { emptyPoint, type PlateCurve, RUNAWAY_C } from './cooler/curve.ts'
import { boundHeat, emptyBounds, emptyHeat, type HeatSource, heatOf } from './source.ts'

const STEP_TOLERANCE = 2e-14
const ROUNDS = 20_000
const LONGEST_RUN_K = 40

/** A bound that clears this part of its run is good enough to step by. */
const FAIR_PART = 0.25
const bounds = emptyBounds()
const heat = emptyHeat()
const point = emptyPoint()

/** RHS(T) in °C; `extraW` is added to the heat. */
export function rhsC(source: HeatSource, curve: PlateCurve, extraW: number, dieC: number): number {
  heatOf(source, dieC, heat)
  const heatW = heat.powerW + extraW
  curve.evaluate(heatW, point)
  return point.plateC + source.packageKPerW * heatW + source.coreKPerW * heat.hotW
}

/** dRHS/dT at a temperature. */
export function rhsSlope(source: HeatSource, curve: PlateCurve, extraW: number, dieC: number): number {
  rhsC(source, curve, extraW, dieC)
  return slopeOfLast(source)
}

/** Slope of RHS at the point of the last `rhsC`. */
function slopeOfLast({ packageKPerW, coreKPerW }: HeatSource): number {
  const { powerSlope, hotSlope } = heat
  // A flat power meets a jump of the plate without moving, so the jump's infinite slope does not count.
  const heated = powerSlope === 0 ? 0 : (point.slopeKPerW + packageKPerW) * powerSlope
  return heated + coreKPerW * hotSlope
}

/** A temperature that no balance lies below. */
export function coldStartC(source: HeatSource, curve: PlateCurve, extraW: number): number {
  if (source.droop.length === 0) {
    const heatW = source.baseW + extraW
    curve.evaluate(heatW, point)
    return point.plateC + source.packageKPerW * heatW + source.coreKPerW * source.hotBaseW
  }
  const { least } = source
  if (Number.isNaN(least[0])) {
    boundHeat(source, Number.NEGATIVE_INFINITY, RUNAWAY_C, bounds)
    least[0] = bounds.leastW
    least[1] = bounds.leastHotW
  }
  const heatW = (least[0] as number) + extraW
  curve.evaluate(heatW, point)
  return point.plateC + source.packageKPerW * heatW + source.coreKPerW * (least[1] as number)
}

/** The lowest balance in °C, the one that a cold start reaches; Infinity where there is none below `RUNAWAY_C`. */
export function lowestRoot(source: HeatSource, curve: PlateCurve, extraW: number): number {
  return lowestRootAbove(source, curve, extraW, coldStartC(source, curve, extraW), RUNAWAY_C)
}

/**
 * The lowest balance in [`fromC`, `limitC`), Infinity where there is none. RHS(`fromC`) ≥ `fromC` is required;
 * where it fails, `fromC` itself is returned, since the die is then cooling already.
 */
export function lowestRootAbove(
  source: HeatSource,
  curve: PlateCurve,
  extraW: number,
  fromC: number,
  limitC: number,
): number {
  const exact = curve.convex && source.droop.length === 0
  const straight = exact && curve.linear
  let at = fromC
  let reachK = LONGEST_RUN_K
  for (let round = 0; round < ROUNDS; round++) {
    if (!(at < limitC)) return Number.POSITIVE_INFINITY
    const gap = rhsC(source, curve, extraW, at) - at
    if (gap === Number.POSITIVE_INFINITY) return gap
    if (!(gap > 0)) return at
    const slope = slopeOfLast(source)
    const newton = slope < 1 ? gap / (1 - slope) : Number.POSITIVE_INFINITY
    const step = exact
      ? newton
      : clearRun(source, curve, extraW, at, 1, gap, Math.min(newton * 1.0001, reachK, limitC - at))
    at += step
    if (step <= STEP_TOLERANCE * (1 + Math.abs(at))) return at
    // Newton's next step on one exponential would be about step² · growth / (1 − slope): below rounding.
    if (straight && step * step * source.growthPerK < STEP_TOLERANCE * (1 - slope)) return at
    reachK = Math.min(LONGEST_RUN_K, step * 4)
  }
  // So many steps are taken only where RHS runs along the diagonal: as good a balance as any.
  return at
}

/** Which way a search goes: up from a point with F > 0, or down from one with F < 0. */
type Way = 1 | -1

/**
 * Length of a run from `at` that way, at most `longest`, that holds no root. A bound drawn over too long a run is poor, so
 * shorter runs are tried until the bound clears a fair part of its run.
 *
 * @param gap how far F is from zero at `at`
 */
function clearRun(
  source: HeatSource,
  curve: PlateCurve,
  extraW: number,
  at: number,
  way: Way,
  gap: number,
  longest: number,
): number {
  let run = longest
  let best = 0
  for (;;) {
    const end = at + way * run
    const low = runSlope(source, curve, extraW, way > 0 ? at : end, way > 0 ? end : at)
    if (low >= 1) return run
    if (low > Number.NEGATIVE_INFINITY) {
      best = Math.max(best, Math.min(run, gap / (1 - low)))
    } else if (way > 0 ? leastRhs(source, curve, extraW) > end : greatestRhs(source, curve, extraW) < end) {
      // No bound on the slope, but one on the terms themselves.
      return run
    }
    if (best >= run * FAIR_PART || run <= STEP_TOLERANCE * (1 + Math.abs(at))) return best
    run *= FAIR_PART
  }
}

/** Lower bound of RHS over the run of `bounds`. */
function leastRhs(source: HeatSource, curve: PlateCurve, extraW: number): number {
  const heatW = bounds.leastW + extraW
  curve.evaluate(heatW, point)
  return point.plateC + source.packageKPerW * heatW + source.coreKPerW * bounds.leastHotW
}

/** A lower bound on dRHS/dT between two temperatures; `bounds` keeps the ranges it was drawn from. */
function runSlope(source: HeatSource, curve: PlateCurve, extraW: number, fromC: number, toC: number): number {
  boundHeat(source, fromC, toC, bounds)
  const core = source.coreKPerW * bounds.hotSlope
  if (bounds.powerSlope === 0) return core
  if (bounds.powerSlope > 0) {
    const plate = curve.slopeLow(bounds.leastW + extraW, bounds.mostW + extraW)
    return (plate + source.packageKPerW) * bounds.powerSlope + core
  }
  const plate = curve.slopeHigh(bounds.leastW + extraW, bounds.mostW + extraW)
  return (plate + source.packageKPerW) * bounds.powerSlope + core
}

/**
 * The highest balance in [`fromC`, `belowC`), −Infinity where there is none there. RHS(`belowC`) < `belowC` is
 * required. The same bound works downward: with F < 0 at a point there is no root before −F/(1 − m) below it.
 */
export function highestRootBelow(
  source: HeatSource,
  curve: PlateCurve,
  extraW: number,
  belowC: number,
  fromC: number,
): number {
  if (curve.convex && source.droop.length === 0) {
    // F is convex and negative at the upper end: at most one root lies below, and it changes the sign.
    if (rhsC(source, curve, extraW, fromC) < fromC) return Number.NEGATIVE_INFINITY
    return lowestRootAbove(source, curve, extraW, fromC, belowC)
  }
  let at = belowC
  let reachK = LONGEST_RUN_K
  for (let round = 0; round < ROUNDS && at > fromC; round++) {
    const gap = at - rhsC(source, curve, extraW, at)
    if (!(gap > 0)) return at
    const slope = slopeOfLast(source)
    const newton = slope < 1 ? gap / (1 - slope) : Number.POSITIVE_INFINITY
    const step = clearRun(source, curve, extraW, at, -1, gap, Math.min(newton * 1.0001, reachK, at - fromC))
    at -= step
    if (step <= STEP_TOLERANCE * (1 + Math.abs(at))) return at < fromC ? Number.NEGATIVE_INFINITY : at
    reachK = Math.min(LONGEST_RUN_K, step * 4)
  }
  // The bottom itself may be the balance.
  return rhsC(source, curve, extraW, fromC) >= fromC ? fromC : Number.NEGATIVE_INFINITY
}

/** Upper bound of RHS over the run of `bounds`. */
function greatestRhs(source: HeatSource, curve: PlateCurve, extraW: number): number {
  const heatW = bounds.mostW + extraW
  curve.evaluate(heatW, point)
  return point.plateC + source.packageKPerW * heatW + source.coreKPerW * bounds.mostHotW
}
