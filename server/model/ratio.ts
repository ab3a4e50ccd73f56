/** Ratio by cores and temperature, and the levels that the clock walks down (model sections 1 and 7). */

import { type Asked, activeGroups, groupSettings, groupsOf } from './groups.ts'
import type { CoreGroup, GroupSettings, Limiter, Part, Profile } from './types.ts'
import { RATIO_TOLERANCE } from './voltage.ts'

/** A level of the ladder: the ratios held once the die has reached `enteredC` (−Infinity for the first). */
export interface Level {
  /** Of the first group that has active cores. */
  readonly ratio: number
  /** Of each group that has active cores, in the part's order. */
  readonly ratios: readonly number[]
  readonly enteredC: number
  readonly limiter: Limiter
  /** How far below `enteredC` it is left again: the largest return of the groups that it lowers. */
  readonly returnK: number
}

/** Ratio of the first step row that covers the core count; undefined where no row does. */
export function stepRatio({ steps }: GroupSettings, cores: number): number | undefined {
  return steps.find(row => cores >= row.fromCores && cores <= row.toCores)?.ratio
}

/** Deepest reduction among the band rows that cover the core count and whose threshold is at or below `dieC`. */
function dropAt({ bands }: GroupSettings, cores: number, dieC: number): number {
  let drop = 0
  for (const row of bands) {
    if (cores >= row.fromCores && cores <= row.toCores && row.aboveC <= dieC && row.drop > drop) drop = row.drop
  }
  return drop
}

/** r = s − vector − drop, never below the lowest ratio. */
export function ratioAfter(group: CoreGroup, stepX: number, vectorX: number, dropX: number): number {
  return Math.max(group.ratioLow, stepX - vectorX - dropX)
}

/** D: the lower of the profile's and the part's die limit. */
export function dieCeilingC(part: Part, profile: Profile): number {
  return Math.min(part.dieLimitC, profile.limits.dieC ?? Number.POSITIVE_INFINITY)
}

/**
 * The ratio `count` ratio-steps below `fromRatio`; the lowest ratio where the grid would pass it, so that the lowest
 * ratio always is the last one.
 */
export function ratioStepsDown(
  { ratioLow, ratioStep }: Pick<Part, 'ratioLow' | 'ratioStep'>,
  fromRatio: number,
  count: number,
): number {
  const ratio = fromRatio - count * ratioStep
  return ratio > ratioLow + RATIO_TOLERANCE ? ratio : Math.min(fromRatio, ratioLow)
}

/** Number of ratio-steps from `fromRatio` down to the lowest ratio, the last one perhaps shorter. */
export function ratioStepCount(
  { ratioLow, ratioStep }: Pick<Part, 'ratioLow' | 'ratioStep'>,
  fromRatio: number,
): number {
  return Math.max(0, Math.ceil((fromRatio - ratioLow - RATIO_TOLERANCE) / ratioStep))
}

/** Whether any ratio is below its counterpart. */
export function lowersAny(ratios: readonly number[], before: readonly number[]): boolean {
  for (let index = 0; index < ratios.length; index++) {
    if ((ratios[index] as number) < (before[index] as number) - RATIO_TOLERANCE) return true
  }
  return false
}

/** The largest return of the groups that a level lowers. */
function largestReturn(ratios: readonly number[], before: readonly number[], returnsK: readonly number[]): number {
  let most = 0
  for (let index = 0; index < ratios.length; index++) {
    const own = returnsK[index] as number
    if (own > most && (ratios[index] as number) < (before[index] as number) - RATIO_TOLERANCE) most = own
  }
  return most
}

/** A group that has active cores, with what the ladder asks of it. */
interface Climber {
  readonly low: Pick<Part, 'ratioLow' | 'ratioStep'>
  readonly group: CoreGroup
  readonly settings: GroupSettings
  readonly cores: number
  readonly step: number
  readonly vectorX: number
}

function climbers(part: Part, profile: Profile, load: LadderLoad): readonly Climber[] | undefined {
  const groups = groupsOf(part)
  const found: Climber[] = []
  for (const { index, cores } of activeGroups(part, load)) {
    const group = groups[index] as CoreGroup
    const settings = groupSettings(profile, index)
    const step = stepRatio(settings, cores)
    if (step === undefined) return undefined
    const low = { ratioLow: group.ratioLow, ratioStep: part.ratioStep }
    found.push({ low, group, settings, cores, step, vectorX: load.vector ? settings.vectorDrop : 0 })
  }
  return found.length === 0 ? undefined : found
}

type LadderLoad = Asked & { readonly vector: boolean }

/**
 * Levels of the ladder, fastest first, before any electrical limit; empty where no step row covers an active group of the
 * load. What lowers no group, because a deeper row or the lowest ratio already holds, makes no level.
 */
export function ladderLevels(part: Part, profile: Profile, load: LadderLoad): readonly Level[] {
  const found = climbers(part, profile, load)
  if (found === undefined) return []
  const ceilingC = dieCeilingC(part, profile)
  const returnsK = found.map(({ settings }) => settings.returnK)
  const first = found.map(({ group, step, vectorX }) => ratioAfter(group, step, vectorX, 0))
  const slowed = found.some(({ step, vectorX }, at) => (first[at] as number) < step - RATIO_TOLERANCE && vectorX > 0)
  const levels: Level[] = [
    {
      ratio: first[0] as number,
      ratios: first,
      enteredC: Number.NEGATIVE_INFINITY,
      limiter: slowed ? 'vector' : 'step',
      returnK: 0,
    },
  ]
  let before: readonly number[] = first
  for (const enteredC of thresholdsOf(found, ceilingC)) {
    const ratios = found.map(({ group, settings, cores, step, vectorX }) =>
      ratioAfter(group, step, vectorX, dropAt(settings, cores, enteredC)),
    )
    if (!lowersAny(ratios, before)) continue
    const returnK = largestReturn(ratios, before, returnsK)
    levels.push({ ratio: ratios[0] as number, ratios, enteredC, limiter: 'band', returnK })
    before = ratios
  }
  // One ceiling comes down over all groups, and one that is deep in its bands waits for it. It waits for a plain part's
  // cores as well; they are counted from their last band, which off the grid of ratios is what they go on from.
  const from = part.groups === undefined ? before : first
  const banded = before
  const count = Math.max(...found.map(({ low }, at) => ratioStepCount(low, from[at] as number)))
  for (let index = 1; index <= count; index++) {
    const ratios = found.map(({ low }, at) =>
      Math.min(banded[at] as number, ratioStepsDown(low, from[at] as number, index)),
    )
    if (!lowersAny(ratios, before)) continue
    levels.push({ ratio: ratios[0] as number, ratios, enteredC: ceilingC, limiter: 'die-limit', returnK: 0 })
    before = ratios
  }
  return levels
}

/** Thresholds of the bands below D that cover the load's counts, in rising order. */
function thresholdsOf(found: readonly Climber[], ceilingC: number): readonly number[] {
  const all: number[] = []
  for (const { settings, cores } of found) {
    for (const row of settings.bands) {
      if (cores >= row.fromCores && cores <= row.toCores && row.aboveC < ceilingC) all.push(row.aboveC)
    }
  }
  return all.sort((a, b) => a - b)
}

/**
 * The levels under a cap: every level above it is lowered to it, and levels that become equal are merged with
 * the earlier limiter kept. A first level that had to come down is limited by what set the cap.
 *
 * @param returnsK of each group that has active cores
 */
export function cappedLevels(
  levels: readonly Level[],
  capRatios: readonly number[],
  limiter: Limiter,
  returnsK: readonly number[],
): readonly Level[] {
  const first = levels[0]
  if (first === undefined || !lowersAny(capRatios, first.ratios)) return levels
  const capped: Level[] = [
    { ratio: capRatios[0] as number, ratios: capRatios, enteredC: first.enteredC, limiter, returnK: 0 },
  ]
  let before = capRatios
  for (const level of levels) {
    const ratios = level.ratios.map((ratio, at) => Math.min(ratio, capRatios[at] as number))
    if (!lowersAny(ratios, before)) continue
    const returnK = level.limiter === 'band' ? largestReturn(ratios, before, returnsK) : level.returnK
    capped.push({ ...level, ratio: ratios[0] as number, ratios, returnK })
    before = ratios
  }
  return capped
}
