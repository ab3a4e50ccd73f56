/**
 * Expectations that only a whole plan decides, since they are followed over time: those of courses, which run several rows
 * of steps one after the other, and clocks held for a time on parts with groups. A plan that does not keep one is looked
 * for again with a margin: the load that runs when it fails must settle cooler, or hold the clock without bands. The
 * margins are the smallest, in whole kelvins and ratio-steps, with which it is kept.
 */

import type { PartEvidence } from '../../bench/evidence/evidence.ts'
import { type Bench, type Corner, groupLoads, isWork, type Load } from '../../model/index.ts'
import type { Failure, NoPlan, Plan } from '../../planning/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, expectationOf } from '../../semantic/expectations.ts'
import { overTimeSliceMs } from '../../semantic/over-time.ts'
import type { Minded } from './faults.ts'
import {
  type At,
  clockMargins,
  dieMargins,
  isSame,
  type Margin,
  mindedFor,
  settledOf,
  stepMargins,
} from './margin-values.ts'

/** Whether the search leaves an expectation to be followed once a plan is known. */
export function isFollowed({ course, forS, figure }: Expectation, { part }: Bench): boolean {
  return course !== undefined || (part.groups !== undefined && forS !== undefined && figure !== 'stable')
}

interface Failing {
  readonly expectation: Expectation
  /** What comes of it. */
  readonly found: Expectation
  /** The load that runs when it fails; undefined where no core is at work before that. */
  readonly at: At | undefined
}

export interface Kept {
  readonly plan: Plan | NoPlan
  /** The profile under the plan, with its runs made; undefined without a plan. */
  readonly proposed: Evaluation | undefined
  /** Followed expectations that no margin keeps, and what kept a larger one from being given; undefined: nothing did. */
  readonly unkept: ReadonlyMap<Expectation, Failure | undefined>
}

interface Search {
  readonly evaluation: Evaluation
  readonly bench: Bench
  readonly evidence: PartEvidence | undefined
  readonly followed: readonly Expectation[]
  /** The profile at its lowest ratio. */
  readonly lowest: Evaluation
  /** The plan with some expectations beside those that it always minds. */
  planned(margins: readonly Minded[]): Generator<undefined, Plan | NoPlan>
  under(plan: Plan, corners?: readonly Corner[]): Evaluation
  /** Bands may be proposed, and groups do not compete for them. */
  readonly isBanded: boolean
}

type Found<T> = Generator<undefined, T>

function* judged(
  evaluation: Evaluation,
  { sourced }: Pick<Expectation, 'sourced'>,
  evidence: PartEvidence | undefined,
) {
  for (;;) {
    const found = expectationOf(evaluation, sourced, evidence)
    if (found?.pending !== true) return found
    while (evaluation.overTime.pending() > 0) {
      evaluation.overTime.makeSome(overTimeSliceMs)
      yield
    }
  }
}

/** The load that runs at the worst moment, or ran last before it. */
function culpritOf({ evaluation, bench }: Search, { worst, courseWorst }: Expectation): At | undefined {
  const of = (load: Load | undefined): At | undefined => {
    const name = evaluation.input.loads.find(one => one.load === load)?.name
    if (name === undefined || load === undefined || !isWork(load)) return undefined
    return { name, counts: groupLoads(bench.part, load).map(({ cores }) => cores) }
  }
  if (courseWorst === undefined) return of(worst?.load.load)
  const { timeS, at, resolved } = courseWorst
  const ran = at.run.steps.filter(({ load, startS }) => startS <= timeS && isWork(load)).at(-1)?.load
  const start =
    'course' in resolved && resolved.course.start.kind === 'settled' ? resolved.course.start.load : undefined
  return of(ran ?? start)
}

interface Tried {
  readonly plan: Plan | NoPlan
  readonly proposed: Evaluation | undefined
  readonly failing: readonly Failing[]
}

/**
 * The plan with margins, and the followed expectations that fail under it.
 * @param known the plan, where it was found before
 */
function* tried(search: Search, margins: ReadonlyMap<Expectation, readonly Margin[]>, known?: Plan): Found<Tried> {
  const minded = [...margins].flatMap(([of, list]) => list.flatMap(margin => mindedFor(margin, of)))
  const plan = known ?? (yield* search.planned(minded))
  if (plan.kind === 'none') return { plan, proposed: undefined, failing: [] }
  const proposed = search.under(plan)
  const failing: Failing[] = []
  for (const expectation of search.followed) {
    const found = yield* judged(proposed, expectation, search.evidence)
    // What cannot be decided is not decided by other steps either.
    if (found?.holds === false) failing.push({ expectation, found, at: culpritOf(search, found) })
  }
  return { plan, proposed, failing }
}

/**
 * The highest of some rising values with which a try serves; the first tried is a guess, and one that serves is taken to
 * serve at all lower ones.
 */
function* highest(
  values: readonly number[],
  guess: number,
  serves: (value: number) => Found<boolean>,
): Found<number | undefined> {
  let [low, high] = [-1, values.length]
  let next = Math.max(
    0,
    values.findLastIndex(value => value <= guess),
  )
  let isFirst = true
  while (high - low > 1) {
    const value = values[next] as number
    if (yield* serves(value)) low = next
    else high = next
    // Beside the guess first, then by halves.
    next = isFirst
      ? Math.min(high - 1, low + 1 === high ? low : low === next ? next + 1 : Math.max(low + 1, next - 1))
      : (low + high) >> 1
    isFirst = false
  }
  return values[low]
}

/**
 * The plan that keeps what is followed, with the smallest margins.
 * @param first the plan that nothing followed had a say in
 */
export function* keeping(search: Search, first: Plan): Found<Kept> {
  const margins = new Map<Expectation, readonly Margin[]>()
  const unkept = new Map<Expectation, Failure | undefined>()
  let best = yield* tried(search, margins, first)
  for (;;) {
    const failing = best.failing.find(({ expectation }) => !unkept.has(expectation))
    if (failing === undefined) break
    const found = yield* keptBy(search, margins, best, failing)
    if (found.kind === 'kept') {
      best = found.tried
      continue
    }
    // Its margins go with it: others are looked at without them.
    unkept.set(failing.expectation, found.failure)
    if (margins.delete(failing.expectation)) best = yield* tried(search, margins)
  }
  return { plan: best.plan, proposed: best.proposed, unkept }
}

type KeptBy =
  | { readonly kind: 'kept'; readonly tried: Tried }
  | { readonly kind: 'unkept'; readonly failure: Failure | undefined }

/** The smallest margin of one load with which it no longer makes an expectation fail. */
function* keptBy(
  search: Search,
  margins: Map<Expectation, readonly Margin[]>,
  now: Tried,
  { expectation, found: judgedNow, at }: Failing,
): Found<KeptBy> {
  if (at === undefined || now.proposed === undefined) return { kind: 'unkept', failure: undefined }
  const { bench, lowest } = search
  const before = margins.get(expectation) ?? []
  const own = before.find(one => isSame(one, at))
  const others = before.filter(one => one !== own)
  const settled = settledOf(now.proposed, at, bench, expectation.group)
  const bySteps = stepMargins(at, settled, bench)
  const choices =
    expectation.figure === 'clock' && expectation.compare === '>='
      ? [clockMargins(expectation, at, settled, bench, own === undefined)]
      : own?.mostGhz !== undefined
        ? [bySteps]
        : // Bands come too late where a power limit lets more run for a while.
          [dieMargins(at, judgedNow, settled, settledOf(lowest, at, bench, undefined).dieC), bySteps]
  let failure: Failure | undefined
  for (const { values, guess, make } of choices) {
    const known = new Map<number, Tried>()
    const best = yield* highest(values, guess, function* (value) {
      margins.set(expectation, [...others, make(value)])
      const found = yield* tried(search, margins)
      known.set(value, found)
      if (found.plan.kind === 'none') {
        // With too much of a margin there is no plan at all.
        failure = found.plan.failure
        return true
      }
      return !found.failing.some(one => one.expectation === expectation && one.at !== undefined && isSame(one.at, at))
    })
    const chosen = best === undefined ? undefined : known.get(best)
    if (best === undefined || chosen === undefined || chosen.plan.kind === 'none') continue
    const margin = make(best)
    margins.set(expectation, [...others, margin])
    const freer = yield* carriedHigher(search, margins, expectation, margin, settled.dieC)
    return { kind: 'kept', tried: freer ?? chosen }
  }
  margins.set(expectation, before)
  return { kind: 'unkept', failure }
}

/**
 * The plan whose steps carry a load by what the course itself comes to without bands, in one corner at least: bands keep it
 * cooler than that. Undefined where no step is higher for it.
 */
function* carriedHigher(
  search: Search,
  margins: Map<Expectation, readonly Margin[]>,
  expectation: Expectation,
  margin: Margin,
  hottestC: number,
): Found<Tried | undefined> {
  const { dieC } = margin
  if (dieC === undefined || !search.isBanded) return undefined
  const others = (margins.get(expectation) ?? []).filter(one => one !== margin)
  const values: number[] = []
  for (let bareC = dieC + 1; bareC <= Math.ceil(hottestC); bareC++) values.push(bareC)
  const known = new Map<number, Tried>()
  const withBare = (bareC: number): void => {
    margins.set(expectation, [...others, { ...margin, bareC }])
  }
  const best = yield* highest(values, dieC + 1, function* (bareC) {
    withBare(bareC)
    const found = yield* tried(search, margins)
    known.set(bareC, found)
    const { plan, failing } = found
    if (plan.kind === 'none' || failing.some(one => one.expectation === expectation)) return false
    return yield* keptBare(search, plan, expectation, margin)
  })
  if (best === undefined) margins.set(expectation, [...others, margin])
  else withBare(best)
  return best === undefined ? undefined : known.get(best)
}

/** Whether in one corner at least an expectation holds without the bands of a load's row. */
function* keptBare(search: Search, plan: Plan, { sourced }: Expectation, { counts }: At): Found<boolean> {
  const [count = 0] = counts
  const rows = plan.rows.map(row => (row.from <= count && count <= row.to ? { ...row, bands: [] } : row))
  for (const corner of search.evaluation.input.corners) {
    const bare = search.under({ ...plan, rows }, [corner])
    const found = yield* judged(bare, { sourced }, search.evidence)
    if (found?.holds === true) return true
  }
  return false
}
