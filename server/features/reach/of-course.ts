/** Expectations of courses: which loads they are about, and a rough look at how far a course is from what is asked. */

import { toBase } from '../../../grammar/units/units.ts'
import { type Bench, type Corner, type CourseEnd, followCourseInSlices, wetPointC } from '../../model/index.ts'
import { distinctCorners } from '../../semantic/corners.ts'
import { judgeRuns } from '../../semantic/course-expectations.ts'
import { type CourseAt, type ResolvedCourse, resolveCourse } from '../../semantic/courses.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import { toleranceOf } from '../../semantic/judging.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
import { isBeyond } from '../../semantic/over-time.ts'
import type { InSlices, Numbers } from './types.ts'

function courseOf(evaluation: Evaluation, { course }: Expectation): ResolvedCourse | undefined {
  const definition = evaluation.profile.courses.find(({ name }) => name === course)
  return definition && resolveCourse(evaluation, definition)
}

/** The loads that decide an expectation, at the core counts that count for it. */
export function loadsFor(evaluation: Evaluation, expectation: Expectation): readonly LoadCase[] {
  const { loads } = evaluation.input
  if (expectation.course === undefined) return loads.filter(({ name }) => name === expectation.load)
  const resolved = courseOf(evaluation, expectation)
  if (resolved === undefined || 'undecided' in resolved) return []
  const { start, lines } = resolved.course
  const own = new Set(lines.flatMap(line => (line.kind === 'step' ? [line.load] : [])))
  if (start.kind === 'settled') own.add(start.load)
  return loads.filter(({ load }) => own.has(load))
}

/** What is beyond what is asked by more than the slack; undefined where a course has to be followed to its end for it. */
function endOf(
  { figure, compare, target, group }: Expectation,
  slack: number,
  alike: readonly Corner[],
): CourseEnd | undefined {
  const side = compare === '>=' ? 'low' : 'high'
  const value = compare === '>=' ? target.value - slack : target.value + slack
  if (group !== undefined || figure === 'margin' || figure === 'stable' || figure === 'trips') return undefined
  if (figure === 'clock') return { figure, side, value: value * 1000 }
  if (figure !== 'above-dew') return { figure, side, value }
  const wettestC = Math.max(...alike.map(({ airC, humidityPct }) => wetPointC(airC, humidityPct)))
  return compare === '>=' ? { figure: 'plate', side, value: value + wettestC } : undefined
}

/** Longer than any course, in s; and more than all lines of one come to. */
const [aLineS, aCornerS] = [1e6, 1e10]
/** Less than whatever is said of a course that is followed to its end. */
const LEFT = -1e12

interface Followed {
  readonly at: readonly CourseAt[]
  /** How far it came before it was left; infinite where it was not. */
  readonly came: number
}

/**
 * How far above what is asked a course comes, in base units, negative below it; undefined where it is of no course. A course
 * is left as soon as it is below by more than a rough look may be off by, and what is said is how far it came by then: the
 * corner where it first was, its line, the time in it.
 * @param slack what a rough look may be off by, in base units
 */
export function courseLook(
  evaluation: Evaluation,
  expectation: Expectation,
  tickS: number,
  slack: number,
): ((numbers: Numbers) => InSlices<number>) | undefined {
  const resolved = courseOf(evaluation, expectation)
  if (resolved === undefined || 'undecided' in resolved) return undefined
  const { compare, target } = expectation
  const { course } = resolved

  function* follow(bench: Bench, corner: Corner, alike: readonly Corner[]): InSlices<Followed | undefined> {
    const endsAt = endOf(expectation, slack, alike)
    const run = yield* followCourseInSlices(bench, course, corner, { tickS, ...(endsAt && { endsAt }) })
    if ('undecided' in run) return undefined
    const at = alike.map(one => ({ corner: one, wetC: wetPointC(one.airC, one.humidityPct), run }))
    const last = run.steps.at(-1)
    const came =
      endsAt && last && isBeyond(run, endsAt) ? last.line * aLineS + last.endS - last.startS : Number.POSITIVE_INFINITY
    return { at, came }
  }

  /** Places of the corners: where the course is left soonest comes first. Kept, so that what is said can be compared. */
  let order: readonly number[] | undefined
  return function* ({ bench, corners }) {
    const distinct = distinctCorners(bench, corners)
    const found: (Followed | undefined)[] = []
    const places = order?.length === distinct.length ? order : distinct.keys()
    for (const [rank, place] of [...places].entries()) {
      const { corner, alike } = distinct[place] as (typeof distinct)[number]
      const followed = yield* follow(bench, corner, alike)
      if (followed === undefined) return Number.NEGATIVE_INFINITY
      found[place] = followed
      if (order !== undefined && followed.came < Number.POSITIVE_INFINITY) return LEFT + rank * aCornerS + followed.came
    }
    order ??= [...distinct.keys()].sort((a, b) => compared(found[a]?.came, found[b]?.came))
    const soonest = found[order[0] ?? 0]?.came ?? Number.POSITIVE_INFINITY
    if (soonest < Number.POSITIVE_INFINITY) return LEFT + soonest
    const at = found.flatMap(one => one?.at ?? [])
    const { holds, predicted } = judgeRuns(evaluation, expectation, resolved, at, undefined)
    if (holds === true) return Number.POSITIVE_INFINITY
    if (predicted === null) return Number.NEGATIVE_INFINITY
    const above = toBase(predicted, target.unit) - target.value
    return compare === '>=' ? above : -above
  }
}

const compared = (a = 0, b = 0): number => (a === b ? 0 : a - b)

/** Whether a course is sure to fail what is asked, as a full check says it: its runs are kept where it is not. */
export type CourseFails = (evaluation: Evaluation, expectation: Expectation) => InSlices<boolean>

/** The corner that failed last is followed first, for it is the likeliest to fail again. */
export function createCourseFails(): CourseFails {
  let failedLast = 0
  return function* (evaluation, expectation) {
    const resolved = courseOf(evaluation, expectation)
    const { bench, corners } = evaluation.input
    if (bench === undefined || resolved === undefined || 'undecided' in resolved) return false
    const isLast = (place: number): number => Number(place === failedLast)
    const distinct = [...distinctCorners(bench, corners).entries()].sort(([a], [b]) => isLast(b) - isLast(a))
    for (const [place, { corner, alike }] of distinct) {
      const endsAt = endOf(expectation, toleranceOf(expectation.target), alike)
      if (endsAt === undefined) return false
      const run = yield* evaluation.overTime.courseUnless(bench, resolved.course, corner, endsAt)
      if (run !== 'left') continue
      failedLast = place
      return true
    }
    return false
  }
}

/** What a rough look may be off by, in base units. */
export function courseSlack({ target }: Expectation, roughGhz: number): number {
  switch (target.dimension) {
    case 'frequency':
      return roughGhz
    case 'temperature':
    case 'temperature-difference':
      return 0.5
    default:
      return 0.05 * Math.abs(target.value)
  }
}
