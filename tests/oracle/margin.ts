/** `margin_w` of model section 9. */
import type { Bench, Corner } from '../../server/model/types.ts'
import { crossing, evenly, valley } from './numeric.ts'
import { plateTemperatureC } from './plate.ts'

export interface Heated {
  /** The power at which the load settled: the margin is never below minus this. */
  readonly settledW: number
  readonly ceilingC: number
  /** H at a die temperature, shares held. */
  readonly riseK: (dieC: number) => number
  /** P(T), shares held. */
  readonly powerW: (dieC: number) => number
}

/**
 * The largest x for which T_plate(P(T) + x) + θ_package (P(T) + x) + H = T has a root at or below D.
 *
 * Every heat Q gives one die temperature T(Q), and x = Q − P(T(Q)) is what
 * was added to make that heat: so the largest x over all Q with T(Q) ≤ D is
 * the answer. It is looked for down to x = −P, where P is the settled power;
 * the cooler's equations are taken as they stand where Q falls below zero.
 */
export const largestExtraHeatW = (bench: Bench, corner: Corner, heated: Heated): number => {
  const dieAt = (heatW: number): number => {
    const baseC = plateTemperatureC(bench, corner, heatW) + bench.part.packageResistanceKPerW * heatW
    if (!Number.isFinite(baseC)) return Number.POSITIVE_INFINITY
    const tooLow = (dieC: number): number => baseC + heated.riseK(dieC) - dieC
    const riseK = heated.riseK(baseC)
    // A load line makes the dynamic power fall with temperature, never rise.
    if (tooLow(baseC + riseK) >= 0) return baseC + riseK
    return crossing(tooLow, baseC, baseC + riseK)
  }
  const extraW = (heatW: number): number => heatW - heated.powerW(dieAt(heatW))
  const leastW = -heated.settledW
  if (dieAt(leastW) > heated.ceilingC) return -heated.settledW
  let farW = 2 * (heated.settledW + 10)
  while (dieAt(farW) <= heated.ceilingC) farW *= 2
  const fullW = crossing(heatW => dieAt(heatW) - heated.ceilingC, leastW, farW)
  const parts = 60
  const grid = evenly(leastW, fullW, parts)
  const values = grid.map(extraW)
  const best = values.indexOf(Math.max(...values))
  const atW = valley(heatW => -extraW(heatW), grid[Math.max(0, best - 1)] ?? 0, grid[Math.min(parts, best + 1)] ?? 0)
  return Math.max(-heated.settledW, extraW(atW))
}
