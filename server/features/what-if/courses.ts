/** What a course comes to as it is, and with the lines that are laid over it. */

import { courseRuns, resolveCourse } from '../../semantic/courses.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Document } from '../../workspace/workspace.ts'
import { courseAnswers, courseGlance } from '../courses.ts'
import { escaped, list, paragraphs, prose } from '../markdown.ts'

/** A course on a profile, in a line and in what a person asks of it; undefined where the profile sees no such course. */
interface CourseSide {
  readonly glance: string
  readonly answers: readonly string[]
}

/** A course that comes to something else, or that is new. */
export interface CourseEffect {
  readonly course: string
  readonly profile: string
  readonly now: CourseSide | undefined
  readonly asIf: CourseSide
}

/** What a course of this name comes to; it is asked for where it has not been followed yet. */
function sideOf(evaluation: Evaluation | undefined, name: string): CourseSide | undefined {
  const definition = evaluation?.profile.courses.find(one => one.name === name)
  if (evaluation === undefined || definition === undefined) return undefined
  const resolved = resolveCourse(evaluation, definition)
  const at = courseRuns(evaluation, resolved)
  if (at === 'pending') return { glance: 'is being followed', answers: [] }
  if ('undecided' in at) return { glance: `not followed: ${at.undecided}`, answers: [] }
  return { glance: courseGlance(at), answers: courseAnswers({ evaluation, resolved, at, undecided: undefined }) }
}

/** Asks for these courses, so that they are made with what else is asked for. */
export function askForCourses(evaluations: readonly Evaluation[], courses: readonly string[]): void {
  for (const evaluation of evaluations) for (const name of courses) sideOf(evaluation, name)
}

/** A course of the files as they are that profiles see. */
export interface SeenCourse {
  readonly uri: string
  readonly name: string
  /** Offsets of its block. */
  readonly start: number
  readonly end: number
  readonly isFollowed: boolean
}

/** @param followed names of the courses that are followed */
export function seenCourses(
  documents: Iterable<Document>,
  evaluations: readonly Evaluation[],
  followed: readonly string[],
): readonly SeenCourse[] {
  const seen = new Set(evaluations.flatMap(({ profile }) => profile.courses))
  return [...documents].flatMap(({ uri, starts, definitions }) =>
    definitions.flatMap((definition): SeenCourse[] => {
      const base = starts.get(definition.chunk)
      if (base === undefined || !seen.has(definition)) return []
      const { name, match } = definition
      const { start, end } = match.statement
      return [{ uri, name, start: base + start, end: base + end, isFollowed: followed.includes(name) }]
    }),
  )
}

/** @param courses the names of those that are followed */
export function courseEffects(
  now: readonly Evaluation[],
  then: readonly Evaluation[],
  courses: readonly string[],
): readonly CourseEffect[] {
  return then.flatMap(evaluation => {
    const profile = evaluation.profile.definition.name
    const before = now.find(one => one.profile.definition.name === profile)
    return courses.flatMap((course): CourseEffect[] => {
      const [older, newer] = [sideOf(before, course), sideOf(evaluation, course)]
      if (newer === undefined || JSON.stringify(older) === JSON.stringify(newer)) return []
      return [{ course, profile, now: older, asIf: newer }]
    })
  })
}

export const effectText = ({ course, asIf }: CourseEffect): string => `course ${course} ${asIf.glance}`

/** A part of the page for each course. */
export function coursesMarkdown(effects: readonly CourseEffect[]): string {
  return paragraphs(
    ...effects.flatMap(({ course, profile, now, asIf }) => [
      `## ${escaped(`Course ${course} on ${profile}`)}`,
      list(
        [...(now === undefined ? [] : [`Now: ${now.glance}.`]), `What if: ${asIf.glance}.`, ...asIf.answers].map(prose),
      ),
    ]),
  )
}
