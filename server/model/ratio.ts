/** Ratio by cores and temperature, and the levels that the clock walks down (model sections 1 and 7). */

import type { Limiter, Part, Profile } from './types.ts'
import { RATIO_TOLERANCE } from './voltage.ts'

/** A level of the ladder: the ratio held once the die has reached `enteredC` (−Infinity for the first). */
export interface Level {
  readonly ratio: number
  readonly enteredC: number
  readonly limiter: Limiter
}

/** Ratio of the first step row that covers the core count; undefined where no row does. */
export function stepRatio(profile: Profile, cores: number): number | undefined {
  return profile.steps.find(row => cores >= row.fromCores && cores <= row.toCores)?.ratio
}

/** Deepest reduction among the band rows that cover the core count and whose threshold is at or below `dieC`. */
function dropAt(profile: Profile, cores: number, dieC: number): number {
  let drop = 0
  for (const row of profile.bands) {
    if (cores >= row.fromCores && cores <= row.toCores && row.aboveC <= dieC && row.drop > drop) drop = row.drop
  }
  return drop
}

/** r = s − vector − drop, never below the part's lowest ratio. */
export function ratioAfter(part: Part, stepX: number, vectorX: number, dropX: number): number {
  return Math.max(part.ratioLow, stepX - vectorX - dropX)
}

/** D: the lower of the profile's and the part's die limit. */
export function dieCeilingC(part: Part, profile: Profile): number {
  return Math.min(part.dieLimitC, profile.limits.dieC ?? Number.POSITIVE_INFINITY)
}

/**
 * The ratio `count` ratio-steps below `fromRatio`; the part's lowest ratio where the grid would pass it, so that
 * the lowest ratio always is the last one.
 */
export function ratioStepsDown(part: Part, fromRatio: number, count: number): number {
  const ratio = fromRatio - count * part.ratioStep
  return ratio > part.ratioLow + RATIO_TOLERANCE ? ratio : Math.min(fromRatio, part.ratioLow)
}

/** Number of ratio-steps from `fromRatio` down to the part's lowest ratio, the last one perhaps shorter. */
export function ratioStepCount(part: Part, fromRatio: number): number {
  return Math.max(0, Math.ceil((fromRatio - part.ratioLow - RATIO_TOLERANCE) / part.ratioStep))
}

/**
 * Levels of the ladder, fastest first, before any electrical limit; empty where no step row covers the load.
 * A band that changes nothing, because a deeper row or the lowest ratio already holds, makes no level.
 */
export function ladderLevels(
  part: Part,
  profile: Profile,
  load: { readonly cores: number; readonly vector: boolean },
): readonly Level[] {
  const step = stepRatio(profile, load.cores)
  if (step === undefined) return []
  const vectorX = load.vector ? profile.vectorDrop : 0
  const ceilingC = dieCeilingC(part, profile)
  const firstRatio = ratioAfter(part, step, vectorX, 0)
  const slowed = firstRatio < step - RATIO_TOLERANCE && vectorX > 0
  const levels: Level[] = [
    { ratio: firstRatio, enteredC: Number.NEGATIVE_INFINITY, limiter: slowed ? 'vector' : 'step' },
  ]
  let ratio = firstRatio
  const thresholds = profile.bands
    .filter(row => load.cores >= row.fromCores && load.cores <= row.toCores && row.aboveC < ceilingC)
    .map(row => row.aboveC)
    .sort((a, b) => a - b)
  for (const enteredC of thresholds) {
    const lower = ratioAfter(part, step, vectorX, dropAt(profile, load.cores, enteredC))
    if (!(lower < ratio - RATIO_TOLERANCE)) continue
    levels.push({ ratio: lower, enteredC, limiter: 'band' })
    ratio = lower
  }
  const count = ratioStepCount(part, ratio)
  for (let index = 1; index <= count; index++) {
    levels.push({ ratio: ratioStepsDown(part, ratio, index), enteredC: ceilingC, limiter: 'die-limit' })
  }
  return levels
}

/**
 * The levels under a cap: every level above it is lowered to it, and levels that become equal are merged with
 * the earlier limiter kept. A first level that had to come down is limited by what set the cap.
 */
export function cappedLevels(levels: readonly Level[], capRatio: number, limiter: Limiter): readonly Level[] {
  const first = levels[0]
  if (first === undefined || first.ratio <= capRatio + RATIO_TOLERANCE) return levels
  const capped: Level[] = [{ ratio: capRatio, enteredC: first.enteredC, limiter }]
  for (const level of levels) if (level.ratio < capRatio - RATIO_TOLERANCE) capped.push(level)
  return capped
}
