/** Expectations of courses: which loads they are about, and a rough look at how far a course is from what is asked. */

import { toBase } from '../../../grammar/units/units.ts'
import { followCourseInSlices, wetPointC } from '../../model/index.ts'
import { distinctCorners } from '../../semantic/corners.ts'
import { judgeRuns } from '../../semantic/course-expectations.ts'
import { type CourseAt, type ResolvedCourse, resolveCourse } from '../../semantic/courses.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
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

/** How far above what is asked a course comes, in base units, negative below it; undefined where it is of no course. */
export function courseLook(
  evaluation: Evaluation,
  expectation: Expectation,
  tickS: number,
): ((numbers: Numbers) => InSlices<number>) | undefined {
  const resolved = courseOf(evaluation, expectation)
  if (resolved === undefined || 'undecided' in resolved) return undefined
  const { compare, target } = expectation
  return function* ({ bench, corners }) {
    const at: CourseAt[] = []
    for (const { corner, alike } of distinctCorners(bench, corners)) {
      const run = yield* followCourseInSlices(bench, resolved.course, corner, { tickS })
      if ('undecided' in run) return Number.NEGATIVE_INFINITY
      for (const one of alike) at.push({ corner: one, wetC: wetPointC(one.airC, one.humidityPct), run })
    }
    const { holds, predicted } = judgeRuns(evaluation, expectation, resolved, at, undefined)
    if (holds === true) return Number.POSITIVE_INFINITY
    if (predicted === null) return Number.NEGATIVE_INFINITY
    const above = toBase(predicted, target.unit) - target.value
    return compare === '>=' ? above : -above
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
