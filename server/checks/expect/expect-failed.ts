import type { Evaluation } from '../../semantic/evaluate.ts'
import { type Expectation, expectationsOf } from '../../semantic/expectations.ts'
import { rounded } from '../../wording/entered.ts'
import { failedCourseText } from '../support/course-words.ts'
import { decimalsFor, failedText } from '../support/expect-words.ts'
import { replace, stateIn } from '../support/physics-edits.ts'
import { settingPlace } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** The line with the predicted figure in it, rounded so that it holds. */
function writePredicted({ profile }: Evaluation, expectation: Expectation): Fix | undefined {
  const { predicted, compare, target, unit, sourced, text } = expectation
  // Whatever is expected of a machine that stops, it does not hold it.
  if (predicted === null || expectation.stopsAtC !== undefined) return undefined
  if (expectation.figure === 'clock' && expectation.courseWorst?.tripS != null) return undefined
  const number = rounded(predicted, decimalsFor(expectation), compare === '>=' ? 'down' : 'up')
  // Clocks, currents and powers of a load make no sense at zero or below.
  const isThermal = target.dimension === 'temperature' || target.dimension === 'temperature-difference'
  if (Number(number) <= 0 && !isThermal) return undefined
  const value = `${number} ${unit}`
  const title = `Expect ${value}`
  if (sourced.definition === profile.definition) return { title, edits: [replace(sourced.definition, target, value)] }
  const written = new RegExp(`-?[0-9.]+ ${unit.replace(/[^A-Za-z]/g, '\\$&')}`)
  const edit = stateIn(profile.definition, undefined, `expect ${text.replace(written, value)}`)
  return edit === undefined ? undefined : { title, edits: [edit] }
}

export const expectFailed: Check = {
  code: 'expect-failed',
  severity: 'error',
  title: 'An expectation that the prediction does not meet',
  page: {
    what: 'Each `expect` line at the worst of the core counts that its load declares and of the corners of the room. Comparisons allow one millionth, temperatures a microkelvin; thermal runaway fails every expectation.',
    why: 'What you meant to reach with this profile is not reached on this bench in the worst corner of this room.',
    remedy:
      'Change what limits it, as the message says; or expect what the bench can do. The quick fix writes the predicted figure, rounded so that it holds.',
    example: 'profile daily {\n  steps { 1 to 8 cores 50x }\n  expect pair holds >= 5.4 GHz\n}',
  },
  *inProfile(evaluation, evidence) {
    const room = evaluation.profile.room?.name
    for (const expectation of expectationsOf(evaluation, evidence)) {
      if (expectation.holds !== false) continue
      if (expectation.courseWorst !== undefined && expectation.course !== undefined) {
        const fix = writePredicted(evaluation, expectation)
        yield {
          at: settingPlace(evaluation.profile, expectation.sourced),
          course: expectation.course,
          ...(room === undefined ? {} : { room }),
          message: failedCourseText(expectation),
          ...(expectation.predicted === null ? {} : { fixes: fix === undefined ? [] : [fix] }),
        }
        continue
      }
      if (expectation.worst === undefined) continue
      const { worst, load, sourced } = expectation
      const fix = writePredicted(evaluation, expectation)
      yield {
        at: settingPlace(evaluation.profile, sourced),
        load,
        ...(expectation.group === undefined ? {} : { group: expectation.group }),
        ...(room === undefined ? {} : { room }),
        message: failedText(evaluation, expectation, worst),
        ...(expectation.predicted === null ? {} : { fixes: fix === undefined ? [] : [fix] }),
      }
    }
  },
}
