/** Heat margin: how much more the cooler could take before the die is at its ceiling (model section 9). */

import { coldStartC, lowestRoot, lowestRootAbove, rhsSlope } from './balance.ts'
import type { PlateCurve } from './cooler/curve.ts'
import { rootBetween } from './root.ts'
import { emptyHeat, type HeatSource, heatOf } from './source.ts'

const SLACK = 1e-11
const ROUNDS = 40
const heat = emptyHeat()

/**
 * The extra heat that makes a temperature a balance: x(T) = Q − P(T) with Q the heat that brings the plate and
 * the package to T − θ_core·P_dyn/n.
 */
function extraAt(source: HeatSource, curve: PlateCurve, dieC: number): number {
  heatOf(source, dieC, heat)
  const { powerW, hotW } = heat
  return curve.heatAt(source.packageKPerW, dieC - source.coreKPerW * hotW) - powerW
}

/**
 * Largest constant heat in W that can be added to the source with a balance at or below `ceilingC` reached from
 * cold; negative, down to −`powerW`, where the die is past its ceiling.
 *
 * More heat raises RHS everywhere, so this is the maximum of x(T) over T ≤ D. Mostly that lies at D itself; where
 * leakage runs away below D it is the last balance before the runaway.
 *
 * @param powerW power at the settled state, the most that can be taken away
 * @param settled `isBelow`: the source settles at or below `ceilingC` as it is, so that no extra heat is served too
 */
export function marginW(
  source: HeatSource,
  curve: PlateCurve,
  ceilingC: number,
  powerW: number,
  settled: { readonly isBelow: boolean },
): number {
  const atCeiling = extraAt(source, curve, ceilingC)
  const straight = source.droop.length === 0
  if (straight && curve.linear) return Math.max(-powerW, straightMargin(source, curve, ceilingC, atCeiling))
  // RHS convex and touching the diagonal at D from above: it lies above everywhere below D.
  if (straight && curve.convex && rhsSlope(source, curve, atCeiling, ceilingC) <= 1) {
    return Math.max(-powerW, atCeiling)
  }
  return searchMargin(source, curve, ceilingC, Math.max(atCeiling, settled.isBelow ? 0 : -powerW, -powerW))
}

/** One straight line and one exponential: x(T) is concave, with its top where dP/dT is one over the line's slope. */
function straightMargin(source: HeatSource, curve: PlateCurve, ceilingC: number, atCeiling: number): number {
  const slope = curve.lineKPerW + source.packageKPerW
  heatOf(source, ceilingC, heat)
  if (heat.powerSlope * slope <= 1) return atCeiling
  const { growthPerK, leakageW, leakageAtC } = source
  const topC = leakageAtC + Math.log(1 / (slope * growthPerK * leakageW)) / growthPerK
  return extraAt(source, curve, topC)
}

/**
 * Improves a served extra heat until the solver shows that no more is served: with a trace more there is no
 * balance below D. Each balance that still turns up is climbed to the top of x(T) above it.
 */
function searchMargin(source: HeatSource, curve: PlateCurve, ceilingC: number, served: number): number {
  let best = served
  for (let round = 0; round < ROUNDS; round++) {
    const probe = best + SLACK * (1 + Math.abs(best))
    const rootC = lowestRootAbove(source, curve, probe, coldStartC(source, curve, probe), ceilingC)
    if (rootC === Number.POSITIVE_INFINITY) return best
    const top = climb(source, curve, rootC, ceilingC)
    if (!(top > probe)) return halveMargin(source, curve, ceilingC, probe)
    best = top
  }
  return halveMargin(source, curve, ceilingC, best)
}

/** A local top of x(T) between a balance and the ceiling, where RHS with that x has slope 1. */
function climb(source: HeatSource, curve: PlateCurve, fromC: number, ceilingC: number): number {
  let best = Math.max(extraAt(source, curve, fromC), extraAt(source, curve, ceilingC))
  const riseAt = (dieC: number): number => {
    const extraW = extraAt(source, curve, dieC)
    if (extraW > best) best = extraW
    return 1 - rhsSlope(source, curve, extraW, dieC)
  }
  if (!(riseAt(fromC) > 0 && riseAt(ceilingC) <= 0)) return best
  rootBetween(
    (dieC, out) => {
      out.value = -riseAt(dieC)
      out.slope = Number.NaN
    },
    fromC,
    ceilingC,
    (fromC + ceilingC) / 2,
    TOP_TOLERANCE,
  )
  return best
}
/** x is level at its top: an error of this in the temperature is one of its square in the heat. */
const TOP_TOLERANCE = 1e-9

/** Plain halving on the extra heat, for curves on which climbing does not get on. */
function halveMargin(source: HeatSource, curve: PlateCurve, ceilingC: number, served: number): number {
  let low = served
  let high = Math.max(1, Math.abs(served))
  while (lowestRoot(source, curve, high) <= ceilingC && high < 1e9) {
    low = high
    high *= 2
  }
  for (let round = 0; round < 60 && high - low > 1e-12 * (1 + Math.abs(low)); round++) {
    const middle = (low + high) / 2
    if (lowestRoot(source, curve, middle) <= ceilingC) low = middle
    else high = middle
  }
  return low
}
