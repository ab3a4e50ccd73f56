/** What the clock settles at: the ladder of levels (model section 7). */

import { highestRootBelow, lowestRoot, lowestRootAbove, RUNAWAY_C, rhsC } from './balance.ts'
import { evaluate, type PlateCurve } from './curve.ts'
import type { Level } from './ratio.ts'
import { type HeatSource, heatOf } from './source.ts'

/** Where a ladder ends: on one level, or between two. */
export type Settlement =
  | { readonly kind: 'single'; readonly level: Level; readonly dieC: number; readonly isFirst: boolean }
  | {
      readonly kind: 'between'
      readonly fast: Level
      readonly slow: Level
      readonly dieC: number
      /** The threshold that the clock alternates at. */
      readonly thresholdC: number
      /** Share of time on the faster level. */
      readonly shareFast: number
    }
  | { readonly kind: 'runaway'; readonly level: Level }

/**
 * Walks down the levels as a machine does that starts cold.
 *
 * @param levels fastest first, at least one
 * @param ceilingC D, at which the levels after the last band are entered
 * @param returnK how far below its threshold a band is left again
 * @param sourceOf the load at a level's ratio
 */
export function walkLadder(
  curve: PlateCurve,
  levels: readonly Level[],
  ceilingC: number,
  returnK: number,
  sourceOf: (ratio: number) => HeatSource,
): Settlement {
  let index = 0
  let level = levels[0] as Level
  let source = sourceOf(level.ratio)
  let dieC = lowestRoot(source, curve, 0)
  for (;;) {
    const next = levels[index + 1]
    if (next === undefined || dieC < next.enteredC) {
      return dieC < Number.POSITIVE_INFINITY
        ? { kind: 'single', level, dieC, isFirst: index === 0 }
        : { kind: 'runaway', level }
    }
    const thresholdC = next.enteredC
    const slower = sourceOf(next.ratio)
    if (rhsC(slower, curve, 0, thresholdC) >= thresholdC) {
      dieC = lowestRootAbove(slower, curve, 0, thresholdC, RUNAWAY_C)
    } else {
      const backK = thresholdC < ceilingC ? returnK : 0
      const rested =
        backK > 0 ? highestRootBelow(slower, curve, 0, thresholdC, thresholdC - backK) : Number.NEGATIVE_INFINITY
      if (rested === Number.NEGATIVE_INFINITY) {
        const meanC = thresholdC - backK / 2
        const shareFast = shareAt(source, slower, curve, meanC)
        return { kind: 'between', fast: level, slow: next, dieC: meanC, thresholdC, shareFast }
      }
      dieC = rested
    }
    index++
    level = next
    source = slower
  }
}

/**
 * Share of time at the faster ratio that makes the mean power give exactly `dieC`. Where not even the faster
 * ratio holds that temperature, which only bands closer than half their return can bring about, it is 1.
 */
export function shareAt(fast: HeatSource, slow: HeatSource, curve: PlateCurve, dieC: number): number {
  heatOf(fast, dieC)
  heatOf(slow, dieC)
  const powerStep = fast.powerW - slow.powerW
  const dynamicStep = fast.dynamicW - slow.dynamicW
  const { packageKPerW, coreKPerW } = slow
  let low = 0
  let high = 1
  let share = 0.5
  let width = 1
  for (let round = 0; round < 200; round++) {
    const heatW = slow.powerW + share * powerStep
    evaluate(curve, heatW)
    const gap = curve.plateC + packageKPerW * heatW + coreKPerW * (slow.dynamicW + share * dynamicStep) - dieC
    if (gap <= 0) low = share
    else high = share
    const slope = (curve.slopeKPerW + packageKPerW) * powerStep + coreKPerW * dynamicStep
    let next = share - gap / slope
    if (Math.abs(next - share) < 1e-15 || (Math.abs(gap) < 4e-15 * (100 + Math.abs(dieC)) && round > 0)) {
      return Math.min(1, Math.max(0, next))
    }
    // A step out of the bracket, or too many that hardly narrow it, gives way to halving.
    if (!(next > low && next < high)) {
      if (next >= 1 && high === 1) next = share === 1 ? Number.NaN : 1
      else if (next <= 0 && low === 0) next = share === 0 ? Number.NaN : 0
      else next = (low + high) / 2
      if (Number.isNaN(next)) return share
    } else if (round % 6 === 5 && high - low > width / 2) {
      next = (low + high) / 2
    }
    if (round % 6 === 5) width = high - low
    if (high - low < 1e-16) return low
    share = next
  }
  return share
}
