/** What is wrong with what is expected of a course, in words. */

import { text } from '../../semantic/definitions.ts'
import type { Expectation } from '../../semantic/expectations.ts'
import { cornerWords } from '../../wording/places.ts'
import { durationText } from '../../wording/times.ts'
import { expectedText, predictedText } from './expect-words.ts'

/** The step that is at work at a time, as its line begins. */
function stepAt({ courseWorst }: Expectation): string {
  if (courseWorst === undefined) return ''
  const { at, timeS, resolved } = courseWorst
  const step = at.run.steps.find(({ startS, endS }) => timeS >= startS && timeS <= endS)
  const name =
    step === undefined ? undefined : text(resolved.lines[step.line]?.match ?? resolved.definition.match, 'load')
  return name === undefined ? '' : ` under \`${name.text}\``
}

/** Why an expectation of a course does not hold: where, when, by how much. */
export function failedCourseText(expectation: Expectation): string {
  const { course, courseWorst, figure, target, compare } = expectation
  if (courseWorst === undefined) return ''
  const { corner, timeS, tripS, at } = courseWorst
  const where = `course \`${course}\` ${cornerWords(corner)}`
  if (figure === 'trips') {
    const asked = durationText(target.value)
    const since = at.run.faultS === null ? '' : ' after the fault'
    if (tripS === null)
      return `Machine does not stop: ${where} goes on to its end, and a trip after at most ${asked} is expected.`
    const found = durationText(tripS - (at.run.faultS ?? 0))
    const side = compare === '>=' ? 'too soon' : 'too late'
    return `Machine stops ${side}: ${where} trips ${found}${since} where ${compare === '>=' ? 'at least' : 'at most'} ${asked} is expected. A protection that must act faster than that has to be in the hardware.`
  }
  if (figure === 'clock' && tripS !== null) {
    return `Machine stops: ${where} trips after ${durationText(tripS)}, so no clock is held to its end. Cool it better, or lower the step before you try it.`
  }
  if (figure === 'above-dew') {
    const { predicted, unit } = expectation
    const by = predictedText({ ...expectation, predicted: Math.abs(predicted ?? 0) }) ?? unit
    const on = (predicted ?? 0) < 0 ? 'below' : 'above'
    return `Plate too cold: ${where} has it ${by} ${on} the dew point after ${durationText(timeS)}${stepAt(expectation)} where ${expectedText(expectation)} above it is expected. It drips there; drive it less hard, or let the drive follow faster.`
  }
  const found = predictedText(expectation) ?? 'no figure'
  const what = figure === 'clock' ? 'clock' : figure
  const side = compare === '>=' ? 'low' : 'high'
  return `Course goes too ${side}: ${where} has ${what} ${found} after ${durationText(timeS)}${stepAt(expectation)} where ${expectedText(expectation)} is expected.`
}
