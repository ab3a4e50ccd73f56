/** What the clock settles at: the ladder of levels (model section 7). */

import { coldStartC, highestRootBelow, lowestRootAbove, rhsC } from './balance.ts'
import { emptyPoint, type PlateCurve, RUNAWAY_C } from './cooler/curve.ts'
import type { Level, Levels } from './ratio.ts'
import { rootBetween } from './root.ts'
import { emptyHeat, type HeatSource, heatOf } from './source.ts'

/** Where a ladder ends: on one level, or between two. */
export type Settlement =
  | { readonly kind: 'single'; readonly level: Level; readonly dieC: number }
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
 * @param levels of the ladder, at least one
 * @param sourceOf the load at a level's ratios
 */
export function walkLadder(
  curve: PlateCurve,
  levels: Levels,
  sourceOf: (ratios: readonly number[]) => HeatSource,
): Settlement {
  let index = 0
  let level = levels.at(0) as Level
  let source = sourceOf(level.ratios)
  // A balance at or beyond the next threshold is left for the next level, wherever it lies: it is not looked for.
  const untilC = (): number => Math.min(RUNAWAY_C, levels.at(index + 1)?.enteredC ?? RUNAWAY_C)
  let dieC = lowestRootAbove(source, curve, 0, coldStartC(source, curve, 0), untilC())
  for (;;) {
    const next = levels.at(index + 1)
    if (next === undefined || dieC < next.enteredC) {
      return dieC < Number.POSITIVE_INFINITY ? { kind: 'single', level, dieC } : { kind: 'runaway', level }
    }
    const thresholdC = next.enteredC
    const slower = sourceOf(next.ratios)
    if (rhsC(slower, curve, 0, thresholdC) >= thresholdC) {
      index++
      dieC = lowestRootAbove(slower, curve, 0, thresholdC, untilC())
    } else {
      const backK = next.returnK
      const rested =
        backK > 0 ? highestRootBelow(slower, curve, 0, thresholdC, thresholdC - backK) : Number.NEGATIVE_INFINITY
      if (rested === Number.NEGATIVE_INFINITY) {
        const meanC = thresholdC - backK / 2
        const shareFast = shareAt(source, slower, curve, meanC)
        return { kind: 'between', fast: level, slow: next, dieC: meanC, thresholdC, shareFast }
      }
      index++
      dieC = rested
    }
    level = next
    source = slower
  }
}

/**
 * Share of time at the faster ratio that makes the mean power give exactly `dieC`. Where not even the faster
 * ratio holds that temperature, which only bands closer than half their return can bring about, it is 1.
 */
function shareAt(fast: HeatSource, slow: HeatSource, curve: PlateCurve, dieC: number): number {
  heatOf(fast, dieC, heat)
  const { powerW: fastW, hotW: fastHotW } = heat
  heatOf(slow, dieC, heat)
  const { powerW: slowW, hotW: slowHotW } = heat
  const powerStep = fastW - slowW
  const hotStep = fastHotW - slowHotW
  const { packageKPerW, coreKPerW } = slow
  const overAt = (share: number): number => {
    const heatW = slowW + share * powerStep
    curve.evaluate(heatW, point)
    return point.plateC + packageKPerW * heatW + coreKPerW * (slowHotW + share * hotStep) - dieC
  }
  const atSlow = overAt(0)
  if (atSlow > 0) return 0
  const atFast = overAt(1)
  if (atFast <= 0) return 1
  return rootBetween(
    (share, out) => {
      out.value = overAt(share)
      out.slope = (point.slopeKPerW + packageKPerW) * powerStep + coreKPerW * hotStep
    },
    0,
    1,
    -atSlow / (atFast - atSlow) || 0.5,
  )
}

const heat = emptyHeat()
const point = emptyPoint()
