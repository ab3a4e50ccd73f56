/** What is said about a course wherever it is shown. */

import type { Match } from '../../../grammar/values.ts'
import type { CourseStep } from '../../model/index.ts'
import { courseLines, courseRuns, longestOf, resolveCourse } from '../../semantic/courses.ts'
import { type Definition, entry, text } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { overTimeSliceMs } from '../../semantic/over-time.ts'
import { counted } from '../../wording/counts.ts'
import { clockText, temperatureText } from '../../wording/figures.ts'
import { durationText } from '../../wording/times.ts'
import { courseAnswers, type FollowedCourse } from '../courses.ts'
import { code, escaped, list, paragraphs, prose, table } from '../markdown.ts'
import { type Told, told, wholeOf } from './told.ts'

/** Where it starts, how many steps it has, and how long it lasts at the most. */
export function courseFacts(course: Definition): string {
  const start = entry(course.match, 'start')
  const settled = start && text(start, 'load')?.text
  const from = settled === undefined ? ((start && text(start, 'start')?.text) ?? 'idle') : undefined
  const steps = courseLines(course).filter(({ kind }) => kind === 'step').length
  const begin =
    from === undefined ? `from ${code(settled ?? '')} settled` : from === 'room' ? 'from power-on' : 'from idle'
  return `${begin}, ${counted(steps, 'step')}, ${durationText(longestOf(course))} at the most`
}

/** A course on the first profile that sees it, where it has been followed; else why there is none, in a sentence. */
function followedFor(evaluations: readonly Evaluation[], course: Definition): FollowedCourse | string | undefined {
  const [evaluation] = evaluations
  if (evaluation === undefined) return undefined
  const resolved = resolveCourse(evaluation, course)
  const at = courseRuns(evaluation, resolved)
  if (at === 'pending') return 'The course is being followed; look again in a moment.'
  if ('undecided' in at) return `Not followed: ${at.undecided}.`
  return { evaluation, resolved, at, undecided: undefined }
}

/** Follows the course that a hover shows, some milliseconds at a time; the hover then finds it made. */
export function* followForHover(evaluations: readonly Evaluation[], course: Definition): Generator<undefined, void> {
  const [evaluation] = evaluations
  if (evaluation === undefined) return
  while (courseRuns(evaluation, resolveCourse(evaluation, course)) === 'pending') {
    evaluation.overTime.makeSome(overTimeSliceMs)
    yield
  }
}

/** Of a step in all corners of the room: the range of a figure, undefined where it has none. */
function rangeOf(
  steps: readonly CourseStep[],
  of: (step: CourseStep) => number | undefined,
): [number, number] | undefined {
  const values = steps.flatMap(step => of(step) ?? [])
  return values.length === 0 ? undefined : [Math.min(...values), Math.max(...values)]
}

function spanText(range: [number, number] | undefined, text: (value: number) => string): string {
  if (range === undefined) return ''
  const [low, high] = range.map(text) as [string, string]
  return low === high ? low : `${low} to ${high}`
}

/** The lowest clock of a step; of a part with groups that of each group that it keeps busy. */
function lowestClocks(steps: readonly CourseStep[]): string {
  const spanOf = (of: (step: CourseStep) => CourseStep['extremes'] | undefined): string =>
    spanText(
      rangeOf(steps, step => of(step)?.get('clock')?.low.value),
      clockText,
    )
  const names = steps[0]?.groups?.map(({ group }) => group)
  if (names === undefined) return spanOf(({ extremes }) => extremes)
  return names
    .map(name => `${spanOf(({ groups }) => groups?.find(({ group }) => group === name)?.extremes)} ${name}`)
    .join(', ')
}

/** How a step goes over the corners of the room. */
function stepCells(steps: readonly CourseStep[]): readonly string[] {
  const lasts = spanText(
    rangeOf(steps, ({ startS, endS }) => endS - startS),
    durationText,
  )
  const stops = steps.some(({ ended }) => ended === 'trip') ? ', stops' : ''
  const waits = steps.some(({ ended }) => ended === 'waited') ? ', not reached' : ''
  return [
    `${lasts}${waits}${stops}`,
    lowestClocks(steps),
    spanText(
      rangeOf(steps, ({ extremes }) => extremes.get('die')?.high.value),
      temperatureText,
    ),
    spanText(
      rangeOf(steps, ({ extremes }) => extremes.get('plate')?.low.value),
      temperatureText,
    ),
  ]
}

const head = ['Lasts', 'Lowest clock', 'Hottest die', 'Coldest plate']
const overCorners = 'Over the corners of the room.'

/** What a course comes to: what a person asks of it, then each step. A table of a hover has four columns at most. */
export function courseTold(evaluations: readonly Evaluation[], course: Definition): Told | undefined {
  const followed = followedFor(evaluations, course)
  if (followed === undefined) return undefined
  if (typeof followed === 'string') return told({ lines: [prose(followed)] })
  return wholeTold(followed)
}

/** A course that has been followed on a profile, as a text of its own. */
export function courseMarkdown(followed: FollowedCourse): string {
  const { definition } = followed.resolved
  return `${paragraphs(`# Course ${escaped(definition.name)}`, wholeOf(wholeTold(followed)))}\n`
}

function wholeTold(followed: FollowedCourse): Told {
  const { evaluation, resolved, at } = followed
  const rows = resolved.lines.flatMap(({ kind, match }, line) => {
    const steps = at.flatMap(({ run }) => run.steps.find(step => step.line === line) ?? [])
    return kind === 'fault' || steps.length === 0
      ? []
      : [[text(match, 'load')?.text ?? '', ...stepCells(steps).slice(0, 3)]]
  })
  const calm = at.every(({ run }) => run.tripS === null) ? ['The machine does not stop.'] : []
  return told({
    lines: [`On profile ${code(evaluation.profile.definition.name)}:`],
    tables: [list([...calm, ...courseAnswers(followed)].map(prose)), table(['Step', ...head.slice(0, 3)], rows)],
    rest: [overCorners],
  })
}

/** What one step of a course comes to, and what happens in it; of a fault, what follows up to the next step's end. */
export function courseStepTold(evaluations: readonly Evaluation[], course: Definition, match: Match): Told | undefined {
  const followed = followedFor(evaluations, course)
  if (followed === undefined) return undefined
  if (typeof followed === 'string') return told({ lines: [prose(followed)] })
  const { evaluation, resolved, at } = followed
  const own = resolved.lines.findIndex(one => one.match === match)
  const line = resolved.lines.findIndex(({ kind }, index) => index >= own && kind === 'step')
  const steps = at.flatMap(({ run }) => run.steps.find(step => step.line === line) ?? [])
  if (own < 0 || steps.length === 0) {
    const why = own < 0 || line < 0 ? undefined : 'The course does not come to this step: the machine stops before it.'
    return told({ lines: [why] })
  }
  const events = at.flatMap(({ run }) =>
    run.events
      .filter(one => one.line === line)
      .map(({ what, timeS }) => ({ what, timeS: timeS - startOf(run.steps, line) })),
  )
  const kinds = [...new Set(events.map(({ what }) => what))].map(what => {
    const soonest = Math.min(...events.flatMap(one => (one.what === what ? [one.timeS] : [])))
    return `${what}: soonest ${durationText(soonest)} after it begins`
  })
  return told({
    lines: [`On profile ${code(evaluation.profile.definition.name)}:`],
    tables: [table(head, [stepCells(steps)]), list(kinds.map(prose))],
    rest: [overCorners],
  })
}

const startOf = (steps: readonly CourseStep[], line: number): number =>
  steps.find(one => one.line === line)?.startS ?? 0
