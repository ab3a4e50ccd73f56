import { faultsAt, faultyBench, settle } from '../../model/index.ts'
import { type CourseAt, courseRuns, type ResolvedCourse } from '../../semantic/courses.ts'
import { type Definition, text } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { temperatureText } from '../../wording/figures.ts'
import { cornerWords } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import { expectedCourses } from '../support/expected-courses.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

/** A step that waited in vain, where it was furthest from what it waits for. */
interface Waited {
  readonly line: number
  readonly at: CourseAt
  readonly wasC: number
}

function waitedIn(resolved: ResolvedCourse, at: readonly CourseAt[]): readonly Waited[] {
  if ('undecided' in resolved) return []
  return resolved.course.lines.flatMap((line, index) => {
    if (line.kind !== 'step' || line.until.kind !== 'temperature') return []
    const { figure, temperatureC } = line.until
    const found = at.flatMap(one => {
      const step = one.run.steps.find(each => each.line === index && each.ended === 'waited')
      if (step === undefined) return []
      const wasC = figure === 'die' ? step.endDieC : figure === 'plate' ? step.endPlateC : step.endCoolantC
      return [{ line: index, at: one, wasC }]
    })
    const far = ({ wasC }: Waited): number => Math.abs(wasC - temperatureC)
    return found.reduce<Waited[]>(
      (worst, one) => (worst[0] === undefined || far(one) > far(worst[0]) ? [one] : worst),
      [],
    )
  })
}

/** Where the figure would settle if the step went on for ever. */
function settlesAt({ input }: Evaluation, resolved: ResolvedCourse, { line, at }: Waited): string {
  const { bench } = input
  if (bench === undefined || 'undecided' in resolved) return ''
  const step = resolved.course.lines[line]
  if (step?.kind !== 'step' || step.until.kind !== 'temperature') return ''
  const settled = settle(faultyBench(bench, step.load, faultsAt(resolved.course, line)), step.load, at.corner)
  const { figure } = step.until
  const settledC = figure === 'die' ? settled?.dieC : figure === 'plate' ? settled?.plateC : settled?.coolantC
  return settledC == null ? ', and would not settle at all' : `, and would settle at ${temperatureText(settledC)}`
}

function waitedText(evaluation: Evaluation, resolved: ResolvedCourse, course: Definition, waited: Waited): string {
  const { match } = resolved.lines[waited.line] ?? { match: course.match }
  const step = 'undecided' in resolved ? undefined : resolved.course.lines[waited.line]
  if (step?.kind !== 'step' || step.until.kind !== 'temperature') return ''
  const { figure, compare, temperatureC, withinS } = step.until
  const line = `${text(match, 'load')?.text} until ${figure} ${compare} ${temperatureC} °C`
  const was = `${figure} was at ${temperatureText(waited.wasC)}${settlesAt(evaluation, resolved, waited)}`
  return `Waits in vain: \`${line}\` of course \`${course.name}\` gives up after ${durationText(withinS)} ${cornerWords(waited.at.corner)}: ${was}. The course goes on from there. Wait for what the bench reaches, or longer.`
}

export const courseWaits: Check = {
  code: 'course-waits',
  severity: 'warning',
  title: 'A step that waits for what never comes',
  page: {
    what: 'Each step with `until` of a course that a profile expects something of, in every corner of the room: whether it is reached, to 0.1 K, within its time.',
    why: 'The course goes on without it: what follows begins warmer or colder than was meant, and so does what is expected of it.',
    remedy: 'Wait for what the bench reaches, as the message says, or longer with `within`.',
    example:
      'course warm-up {\n  idle until plate <= 2 °C within 3 min\n  pair 5 s\n}\n\nprofile daily {\n  steps { 1 to 8 cores 50x }\n  expect course warm-up die <= 95 °C\n}',
  },
  *inProfile(evaluation) {
    for (const { sourced, resolved, definition } of expectedCourses(evaluation)) {
      const at = courseRuns(evaluation, resolved)
      if (at === 'pending' || 'undecided' in at) continue
      for (const waited of waitedIn(resolved, at)) {
        const { statement } = (resolved.lines[waited.line] ?? { match: definition.match }).match
        yield {
          at: settingPlace(evaluation.profile, sourced),
          course: definition.name,
          message: waitedText(evaluation, resolved, definition, waited),
          related: [
            {
              at: {
                chunk: definition.chunk,
                start: statement.start,
                end: statement.items.at(-1)?.end ?? statement.end,
              },
              message: 'the step that waits',
            },
          ],
        }
      }
    }
  },
}
