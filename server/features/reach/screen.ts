/** Whether a change could do at all, from its numbers alone: much faster than by its text, which decides. */

import {
  activeGroups,
  type Bench,
  type Corner,
  isWork,
  type Load,
  settle,
  simulateInSlices,
} from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Evidence } from '../../semantic/evidence.ts'
import { type Expectation, figureOf } from '../../semantic/expectations.ts'
import { meets } from '../../semantic/judging.ts'
import { clockOf, warmCorners } from '../../semantic/over-time.ts'
import { stablePct } from '../../semantic/stable.ts'
import { courseLook, courseSlack } from './of-course.ts'
import type { InSlices, Numbers } from './types.ts'

/** What numbers alone tell. What passes all of it is still checked by its text. */
export interface Screen {
  /** False where a settled load is sure to fail what is asked, or what held before. */
  settled(numbers: Numbers): boolean
  /**
   * Roughly, for how long what is asked lasts, in s, or how far above what is asked a course comes; undefined where it is
   * asked of what a load settles at.
   */
  readonly lasts: ((numbers: Numbers) => InSlices<number>) | undefined
  /** What comes this far by a rough look is worth a full check. */
  readonly enough: number
  /** False where a clock that was held for a time no longer is, by a rough look. Undefined numbers tell nothing. */
  keeps(numbers: Numbers | undefined): InSlices<boolean>
}

interface Case {
  readonly load: Load
  /** Which of the corners, counted from the warmest. */
  readonly fromEnd: number
}

type WorkLoad = Extract<Load, { readonly kind: 'work' }>

/** A settled figure: the case that failed last is looked at first, for it is the likeliest to fail again. */
function settledScreen(
  loads: readonly Load[],
  { figure, compare, target, forS, group }: Expectation,
  evidence: Evidence | undefined,
): (numbers: Numbers) => boolean {
  const order: Case[] = []
  let known = 0
  const isFine = (bench: Bench, load: Load, corner: Corner): boolean => {
    const settled = settle(bench, load, corner)
    if (settled === null) return false
    // Counts at which the group is idle say nothing of it.
    if (group !== undefined && settled.groups?.find(one => one.group === group)?.cores === 0) return true
    const value =
      figure === 'stable' ? stablePct(bench.part, settled, forS ?? 0, evidence) : figureOf(figure, settled, group)
    return typeof value === 'number' && meets(value, compare, target)
  }
  return ({ bench, corners }) => {
    for (; known < corners.length; known++) for (const load of loads) order.push({ load, fromEnd: known })
    for (const [index, one] of order.entries()) {
      const corner = corners[corners.length - 1 - one.fromEnd]
      if (corner === undefined || isFine(bench, one.load, corner)) continue
      order.splice(index, 1)
      order.unshift(one)
      return false
    }
    return true
  }
}

/** How often the controller decides in a rough look, in s: more seldom than the model's, which takes a quarter of the time. */
const roughTickS = 0.1
/** What is that much too short by a rough look may be long enough. */
const roughShare = 0.05

/** A clock that alternates is as much slower in its slowest second as a decision that comes too late gives back. */
function roughMhz({ part, profile }: Bench): number {
  const bands = [profile, ...(profile.groups ?? [])].flatMap(own => own.bands)
  const deepest = Math.max(part.ratioStep, ...bands.map(({ drop }) => drop))
  return 1.5 * roughTickS * deepest * part.referenceGhz * 1000
}

/** Whether a load gives a group of cores work: counts at which it is idle say nothing of it. */
export function keepsBusy({ part }: Bench, load: WorkLoad, group: string | undefined): boolean {
  return group === undefined || activeGroups(part, load).some(({ index }) => part.groups?.[index]?.name === group)
}

/**
 * A clock that should be held for a time, from what the load settles at alone: false where nothing but the step keeps it
 * slower, for a load never runs faster than that.
 */
function steppedScreen(loads: readonly WorkLoad[], { target, group }: Expectation): (numbers: Numbers) => boolean {
  return ({ bench, corners }) =>
    warmCorners(bench, corners).every(corner =>
      loads.every(load => {
        const settled = settle(bench, load, corner)
        const place = settled?.groups?.findIndex(own => own.group === group) ?? -1
        const own = group === undefined ? settled : settled?.groups?.[place]
        const limiter = group === undefined ? settled?.limiter : settled?.notes.groups?.[place]?.limiter
        const isStepped = limiter === 'step' || limiter === 'vector'
        return !isStepped || (own?.clockMhz ?? 0) >= target.value * 1000 * (1 - 1e-6)
      }),
    )
}

/** For how long a clock is held, in s: a run is left as soon as one second is too slow. */
function lastingLook(
  loads: readonly WorkLoad[],
  { target, group }: Expectation,
  forS: number,
): (numbers: Numbers) => InSlices<number> {
  return function* ({ bench, corners }) {
    const leastMhz = target.value * 1000 * (1 - 1e-6) - roughMhz(bench)
    const ofGroup = group === undefined ? {} : { ofGroup: group }
    const options = { overS: forS, sampleS: forS, endsBelowMhz: leastMhz, tickS: roughTickS, ...ofGroup }
    let least = forS
    for (const corner of warmCorners(bench, corners)) {
      for (const load of loads) {
        if (!keepsBusy(bench, load, group)) continue
        const run = yield* simulateInSlices(bench, load, corner, options)
        if (run === undefined) return 0
        const slowestMhz = clockOf(run, group)?.lowestSecondMhz ?? 0
        const isHeld = !run.tripped && slowestMhz >= leastMhz
        least = Math.min(least, isHeld ? run.endS : Math.min(run.endS, forS * (1 - 1e-6)))
      }
    }
    return least
  }
}

/** What takes long to find comes last. */
const weight = ({ figure }: Expectation): number => (figure === 'margin' ? 1 : 0)

/**
 * @param evaluation of the profile as it is
 * @param asked what is to hold
 * @param holding what holds now and must go on holding
 * @param evidence what trials of the part show
 */
export function createScreen(
  evaluation: Evaluation,
  asked: Expectation,
  holding: readonly Expectation[],
  evidence: Evidence | undefined,
): Screen {
  const loadsOf = ({ load }: Expectation): readonly Load[] =>
    evaluation.input.loads.filter(({ name }) => name === load).map(one => one.load)
  const lasting = ({ forS, figure }: Expectation): boolean => forS !== undefined && figure !== 'stable'
  /** The loads whose clock should be held for a time; a run that should be slow says nothing before its end. */
  const runsOf = (one: Expectation): readonly WorkLoad[] =>
    lasting(one) && one.compare === '>=' && isTold(one) ? loadsOf(one).filter(isWork) : []
  const look = (one: Expectation): ((numbers: Numbers) => InSlices<number>) | undefined => {
    const work = runsOf(one)
    return work.length === 0 ? undefined : lastingLook(work, one, one.forS ?? 0)
  }
  // What is asked of a course is decided by the full check.
  const isTold = ({ course }: Expectation): boolean => course === undefined
  const settled = [asked, ...holding.toSorted((a, b) => weight(a) - weight(b))].flatMap(one =>
    !isTold(one) || (lasting(one) && loadsOf(one).some(isWork)) ? [] : [settledScreen(loadsOf(one), one, evidence)],
  )
  const stepped = holding.flatMap(one => {
    const work = one.group === undefined ? runsOf(one) : []
    return work.length === 0 ? [] : [steppedScreen(work, one)]
  })
  const { bench } = evaluation.input
  const slack = courseSlack(asked, bench === undefined ? 0 : roughMhz(bench) / 1000)
  const lasts = asked.course === undefined ? look(asked) : courseLook(evaluation, asked, roughTickS, slack)
  const kept = holding.flatMap(one => {
    const found = look(one)
    return found === undefined ? [] : [{ lasts: found, forS: one.forS ?? 0 }]
  })
  return {
    settled: numbers => [...settled, ...stepped].every(isFine => isFine(numbers)),
    lasts,
    enough: asked.course === undefined ? (asked.forS ?? 0) * (1 - roughShare) : -slack,
    keeps: function* (numbers) {
      if (numbers === undefined) return true
      for (const { lasts: own, forS } of kept) if ((yield* own(numbers)) < forS * (1 - roughShare)) return false
      return true
    },
  }
}
