/** The courses that a profile expects something of: what is found of a course is found where it is expected. */

import { type ResolvedCourse, resolveCourse } from '../../semantic/courses.ts'
import { type Definition, text } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Sourced } from '../../semantic/profile.ts'

interface ExpectedCourse {
  /** The first line that expects something of it. */
  readonly sourced: Sourced
  readonly definition: Definition
  readonly resolved: ResolvedCourse
}

export function* expectedCourses(evaluation: Evaluation): Iterable<ExpectedCourse> {
  const seen = new Set<Definition>()
  for (const sourced of evaluation.profile.expectations()) {
    const name = text(sourced.match, 'course')?.text
    const definition = evaluation.profile.courses.find(one => one.name === name)
    if (definition === undefined || seen.has(definition)) continue
    seen.add(definition)
    yield { sourced, definition, resolved: resolveCourse(evaluation, definition) }
  }
}
