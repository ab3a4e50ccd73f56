import { settlesText, type Waited, waitedInVain } from '../../semantic/course-waits.ts'
import { courseRuns, type ResolvedCourse } from '../../semantic/courses.ts'
import { type Definition, text } from '../../semantic/definitions.ts'
import { temperatureText } from '../../wording/figures.ts'
import { cornerWords } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import { expectedCourses } from '../support/expected-courses.ts'
import { settingPlace } from '../support/place.ts'
import type { Check } from '../types.ts'

function waitedText(resolved: ResolvedCourse, course: Definition, line: number, waited: Waited): string {
  const { match } = resolved.lines[line] ?? { match: course.match }
  const step = 'undecided' in resolved ? undefined : resolved.course.lines[line]
  if (step?.kind !== 'step' || step.until.kind !== 'temperature') return ''
  const { figure, compare, temperatureC, withinS } = step.until
  const stated = `${text(match, 'load')?.text} until ${figure} ${compare} ${temperatureC} °C`
  const was = `${figure} was at ${temperatureText(waited.wasC)}, and ${settlesText(waited)}`
  return `Waits in vain: \`${stated}\` of course \`${course.name}\` gives up after ${durationText(withinS)} ${cornerWords(waited.at.corner)}: ${was}. The course goes on from there. Wait for what the bench reaches, or longer.`
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
      for (const [line, { match }] of resolved.lines.entries()) {
        const waited = waitedInVain(evaluation, resolved, at, line)
        if (waited === undefined) continue
        const { statement } = match
        yield {
          at: settingPlace(evaluation.profile, sourced),
          course: definition.name,
          message: waitedText(resolved, definition, line, waited),
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
