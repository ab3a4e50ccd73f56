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
  readonly group: CoreGroup
  readonly low: Pick<Part, 'ratioLow' | 'ratioStep'>
  readonly settings: GroupSettings
  readonly cores: number
  readonly step: number
  readonly vectorX: number
}

function climbers(part: Part, profile: Profile, load: LadderLoad): readonly Climber[] {
  // Of a plain part no list is gone through: a load that is asked about once is prepared once.
  if (part.groups === undefined) {
    const step = stepRatio(profile, load.cores)
    if (step === undefined) return []
    const vectorX = load.vector ? profile.vectorDrop : 0
    return [{ group: part, low: part, settings: profile, cores: load.cores, step, vectorX }]
  }
  const groups = groupsOf(part)
  const found: Climber[] = []
  for (const { index, cores } of activeGroups(part, load)) {
    const group = groups[index] as CoreGroup
    const settings = groupSettings(profile, index)
    const step = stepRatio(settings, cores)
    if (step === undefined) return []
    const low = { ratioLow: group.ratioLow, ratioStep: part.ratioStep }
    found.push({ group, low, settings, cores, step, vectorX: load.vector ? settings.vectorDrop : 0 })
  }
  return found
}

type LadderLoad = Asked & { readonly vector: boolean }

/** Levels, fastest first. Those at D are made when they are asked for: most loads never come to them. */
export interface Levels {
  /** The level at a place; undefined beyond the last one, and everywhere where no step row covers an active group. */
  at(index: number): Level | undefined
  all(): readonly Level[]
}

function ladder(made: Level[], more: () => Level | undefined): Levels {
  const at = (index: number): Level | undefined => {
    while (made.length <= index) {
      const next = more()
      if (next === undefined) return undefined
      made.push(next)
    }
    return made[index]
  }
  return {
    at,
    all: () => {
      at(Number.POSITIVE_INFINITY)
      return made
    },
  }
}

const noLadder: Levels = { at: () => undefined, all: () => [] }

/** The ratios of the groups once bands of some temperature are in. @param dieC −Infinity for none */
function bandedRatios(found: readonly Climber[], dieC: number): number[] {
  const ratios: number[] = []
  for (const { group, settings, cores, step, vectorX } of found) {
    ratios.push(ratioAfter(group, step, vectorX, dropAt(settings, cores, dieC)))
  }
  return ratios
}

/**
 * The ladder of a load before any electrical limit. What lowers no group, because a deeper row or the lowest ratio already
 * holds, makes no level.
 */
export function ladderOf(part: Part, profile: Profile, load: LadderLoad): Levels {
  const found = climbers(part, profile, load)
  if (found.length === 0) return noLadder
  const ceilingC = dieCeilingC(part, profile)
  const first = bandedRatios(found, Number.NEGATIVE_INFINITY)
  let limiter: Limiter = 'step'
  for (let at = 0; at < found.length; at++) {
    const { step, vectorX } = found[at] as Climber
    if ((first[at] as number) < step - RATIO_TOLERANCE && vectorX > 0) limiter = 'vector'
  }
  const made = [levelAt(first, Number.NEGATIVE_INFINITY, limiter, 0)]
  let before = first
  const thresholds = thresholdsOf(found, ceilingC)
  if (thresholds.length > 0) {
    const returnsK = found.map(({ settings }) => settings.returnK)
    for (const enteredC of thresholds) {
      const ratios = bandedRatios(found, enteredC)
      if (!lowersAny(ratios, before)) continue
      made.push(levelAt(ratios, enteredC, 'band', largestReturn(ratios, before, returnsK)))
      before = ratios
    }
  }
  // One ceiling comes down over all groups, and one that is deep in its bands waits for it. So would a plain part's cores,
  // but they are counted from their last band: off the grid of ratios that is where they go on from.
  const banded = before
  const from = part.groups === undefined ? banded : first
  let count = 0
  for (let at = 0; at < found.length; at++) {
    count = Math.max(count, ratioStepCount((found[at] as Climber).low, from[at] as number))
  }
  let index = 0
  return ladder(made, () => {
    while (++index <= count) {
      const ratios: number[] = []
      for (let at = 0; at < found.length; at++) {
        const down = ratioStepsDown((found[at] as Climber).low, from[at] as number, index)
        ratios.push(Math.min(banded[at] as number, down))
      }
      if (!lowersAny(ratios, before)) continue
      before = ratios
      return levelAt(ratios, ceilingC, 'die-limit', 0)
    }
    return undefined
  })
}

function levelAt(ratios: readonly number[], enteredC: number, limiter: Limiter, returnK: number): Level {
  return { ratio: ratios[0] as number, ratios, enteredC, limiter, returnK }
}

/** Levels of a ladder, fastest first, before any electrical limit; empty where no step row covers an active group. */
export function ladderLevels(part: Part, profile: Profile, load: LadderLoad): readonly Level[] {
  return ladderOf(part, profile, load).all()
}

/** Thresholds of the bands below D that cover the load's counts, in rising order. */
function thresholdsOf(found: readonly Climber[], ceilingC: number): readonly number[] {
  const all: number[] = []
  for (const { settings, cores } of found) {
    for (const row of settings.bands) {
      if (cores >= row.fromCores && cores <= row.toCores && row.aboveC < ceilingC) all.push(row.aboveC)
    }
  }
  return all.length > 1 ? all.sort((a, b) => a - b) : all
}

/**
 * The ladder under a cap: every level above it is lowered to it, and levels that become equal are merged with the earlier
 * limiter kept. A first level that had to come down is limited by what set the cap.
 *
 * @param returnsK of each group that has active cores
 */
export function cappedLadder(
  whole: Levels,
  capRatios: readonly number[],
  limiter: Limiter,
  returnsK: readonly number[],
): Levels {
  const first = whole.at(0)
  if (first === undefined || !lowersAny(capRatios, first.ratios)) return whole
  let before = capRatios
  let index = 0
  return ladder([levelAt(capRatios, first.enteredC, limiter, 0)], () => {
    for (;;) {
      const level = whole.at(index++)
      if (level === undefined) return undefined
      const ratios: number[] = []
      for (let at = 0; at < capRatios.length; at++) {
        ratios.push(Math.min(level.ratios[at] as number, capRatios[at] as number))
      }
      if (!lowersAny(ratios, before)) continue
      const returnK = level.limiter === 'band' ? largestReturn(ratios, before, returnsK) : level.returnK
      before = ratios
      return levelAt(ratios, level.enteredC, level.limiter, returnK)
    }
  })
}

/** A ladder of one level alone. */
export function heldAt(ratios: readonly number[], limiter: Limiter): Levels {
  return ladder([levelAt(ratios, Number.NEGATIVE_INFINITY, limiter, 0)], () => undefined)
}
