/** The ratio that a row of `steps` could have. */

import { isBeyondRows } from '../../checks/support/physics-voltage.ts'
import { firstServing } from '../../model/first-serving.ts'
import {
  type Bench,
  benchOfGroup,
  type Load,
  ratioStepCount,
  ratioStepsDown,
  type SettledState,
  settleState,
} from '../../model/index.ts'
import type { Part } from '../../model/types.ts'
import { type BusyKind, isSameKind, loadConstants } from '../../semantic/constants.ts'
import { inCorners } from '../../semantic/corners.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupViews } from '../../semantic/group-view.ts'
import { isOwnRatio } from '../../semantic/limiters.ts'
import { loadAt } from '../../semantic/load-cases.ts'
import { partVoltages } from '../../semantic/profile-values.ts'
import { ratioText } from '../../wording/figures.ts'
import { limiterText } from '../../wording/limiters.ts'

export interface HeldRatio {
  readonly ratio: number
  /** The profile's own bands give some of it back somewhere. */
  readonly bandsAct: boolean
  /** Why not a step more, in words for a person. */
  readonly why: string
}

/** No ratio of the part holds, and why not even the slowest does. */
export interface NoneHeld {
  readonly none: string
}

export interface CoreCounts {
  readonly from: number
  readonly to: number
}

const shortVoltage = 'too little voltage'

/** What keeps a settled load from holding its step; undefined where nothing does. What the profile's own bands give back is meant. */
function obstacle(settled: SettledState, highestV: number | undefined): string | undefined {
  const { state, limiter, notes } = settled
  if (state === 'runaway' || state === 'over-limit') return limiterText(settled)
  if (!isOwnRatio(limiter)) return limiterText({ state: 'steady', limiter })
  if (notes.voltages.some(({ setV }) => highestV !== undefined && setV > highestV * (1 + 1e-6))) {
    return 'more voltage than the part allows'
  }
  if (notes.voltages.some(({ needV, voltageV }) => needV > voltageV * (1 + 1e-6))) return shortVoltage
  return undefined
}

/** The bench with this ratio for these core counts. @param group its place in the order of a part that has groups */
function withStep(bench: Bench, { from, to }: CoreCounts, ratio: number, group: number): Bench {
  const { profile } = bench
  const own = { fromCores: from, toCores: to, ratio }
  const first = { ...bench, profile: { ...profile, steps: [own, ...profile.steps] } }
  if (profile.groups === undefined) return first
  const groups = profile.groups.map((settings, index) =>
    index === group ? { ...settings, steps: [own, ...settings.steps] } : settings,
  )
  return { ...bench, profile: { ...(group === 0 ? first.profile : profile), groups } }
}

/** A load on so many cores; of a part with groups on those of one alone. */
function loadOn(part: Part, kind: BusyKind, cores: number, group: number): Load {
  return loadAt(
    part,
    { ...kind, fromCores: cores, toCores: cores, groups: [] },
    part.groups?.map((_, index) => (index === group ? cores : 0)) ?? [cores],
  )
}

/** The kinds of load that the profile knows, without their core counts; plain full work where it knows none. */
function kindsOf({ profile }: Evaluation): readonly BusyKind[] {
  const kinds: BusyKind[] = []
  for (const load of profile.loads) {
    const { value } = loadConstants(load)
    if (value !== undefined && !kinds.some(kind => isSameKind(kind, value))) kinds.push(value)
  }
  return kinds.length === 0 ? [{ work: { activity: 1, vector: false, uneven: 1 }, activities: new Map() }] : kinds
}

/**
 * The highest ratio, on the part's grid, at which these core counts hold their step in every kind of load and every
 * corner of the room: within the part and its measured needs, no limit giving ratio back, and the die getting what it
 * needs. Undefined where nothing can be predicted, which is something else than that none holds.
 * @param atMost no more than this, such as what fewer cores have
 * @param group place of the group, in the part's order, whose counts they are: then the others are idle
 */
export function ratioThatHolds(
  evaluation: Evaluation,
  counts: CoreCounts,
  atMost: number,
  group = 0,
): HeldRatio | NoneHeld | undefined {
  const bench = evaluation.input.benchForSteps
  const { profile } = evaluation
  if (bench === undefined || profile.part === undefined || counts.from > counts.to) return undefined
  const alone = benchOfGroup(bench, group)
  const { part } = alone
  const highestV = partVoltages(groupViews(profile)[group] ?? profile)?.highV
  const kinds = kindsOf(evaluation)

  const obstacleAt = (ratio: number, cores: number): string | undefined => {
    if (isBeyondRows(alone, ratio)) return 'more than was measured'
    const stepped = withStep(bench, counts, ratio, group)
    for (const kind of kinds) {
      const load = loadOn(bench.part, kind, cores, group)
      for (const settled of inCorners(stepped, evaluation.input.corners, one => settleState(stepped, load, one))) {
        const found = settled === undefined ? 'nothing to predict' : obstacle(settled, highestV)
        if (found !== undefined)
          return found === shortVoltage && kind.work.vector ? `${found} under vector loads` : found
      }
    }
    return undefined
  }
  const bandsActAt = (ratio: number): boolean => {
    const stepped = withStep(bench, counts, ratio, group)
    // The most cores are the warmest, and so the first to come to a band.
    return kinds.some(kind => {
      const load = loadOn(bench.part, kind, counts.to, group)
      const settled = inCorners(stepped, evaluation.input.corners, one => settleState(stepped, load, one))
      return settled.some(one => one?.limiter === 'band')
    })
  }
  const anyObstacle = (ratio: number): string | undefined => {
    // The most cores are the warmest, and fail first.
    for (let cores = counts.to; cores >= counts.from; cores--) {
      const found = obstacleAt(ratio, cores)
      if (found !== undefined) return found
    }
    return undefined
  }

  const bound = Math.min(part.ratioHigh, atMost)
  const highest = Number((Math.floor(bound / part.ratioStep + 1e-9) * part.ratioStep).toFixed(6))
  if (highest < part.ratioLow) return { none: 'fewer cores are as slow as the part goes' }
  const last = ratioStepCount(part, highest)
  const ratioAt = (steps: number): number => ratioStepsDown(part, highest, steps)
  let high = firstServing(-1, last + 1, steps => obstacleAt(ratioAt(steps), counts.to) === undefined)
  while (high <= last && anyObstacle(ratioAt(high)) !== undefined) high++
  if (high > last) return { none: anyObstacle(ratioAt(last)) ?? '' }
  const ratio = ratioAt(high)
  const bandsAct = bandsActAt(ratio)
  if (high === 0) {
    const why = atMost < part.ratioHigh ? 'as fast as fewer cores' : "the part's fastest"
    return { ratio, bandsAct, why }
  }
  const next = ratioAt(high - 1)
  return { ratio, bandsAct, why: `${ratioText(next)} would not: ${anyObstacle(next) ?? ''}` }
}
