/** What is expected of a course: judged from its start to its end, in every corner of the room. */

import { fromBase } from '../../grammar/units/units.ts'
import { type Extremes, isWork } from '../model/index.ts'
import { type CourseAt, courseRuns, type ResolvedCourse, resolveCourse } from './courses.ts'
import { doubtedOf, doubtedText } from './doubted.ts'
import type { Evaluation } from './evaluate.ts'
import type { Evidence } from './evidence.ts'
import type { Asked, Expectation } from './expectation.ts'
import { meets } from './judging.ts'
import { unreadOf, unreadText } from './unread.ts'
import { fastestDoubt, voltageDoubt } from './voltage-doubt.ts'

interface Value {
  readonly value: number
  readonly timeS: number
}

/** Figures that each group of cores has of its own. */
const ownFigures: readonly Asked['figure'][] = ['clock', 'voltage', 'current']

/** A figure of a course in one corner, in base units; undefined where it never was. */
function figureIn({ figure, compare, group }: Asked, { run, wetC }: CourseAt): Value | undefined {
  const side = compare === '>=' ? 'low' : 'high'
  if (figure === 'above-dew') {
    const plate = run.extremes.get('plate')?.low
    return plate && { value: plate.value - wetC, timeS: plate.timeS }
  }
  if (figure === 'margin' || figure === 'stable' || figure === 'trips') return undefined
  const isOwn = group !== undefined && ownFigures.includes(figure)
  const extremes = isOwn ? run.groups?.find(one => one.group === group)?.extremes : run.extremes
  const found = extremes?.get(figure)?.[side]
  return found && (figure === 'clock' ? { ...found, value: found.value / 1000 } : found)
}

/** Time from the last fault, or the start, to the trip, or to the end where there is none. */
function untilTrip({ run }: CourseAt): number {
  return (run.tripS ?? run.endS) - (run.faultS ?? 0)
}

/** `trips after`: no trip is later than any; a course that ends sooner than what is asked does not decide it. */
function judgeTrip(question: Asked, resolved: ResolvedCourse, at: readonly CourseAt[]): Expectation {
  const { compare, target } = question
  const base = { ...question, worst: undefined }
  let worst: CourseAt | undefined
  for (const one of at) {
    const isWorse = (other: CourseAt): boolean => {
      if ((one.run.tripS === null) !== (other.run.tripS === null))
        return (one.run.tripS === null) === (compare === '<=')
      return compare === '>=' ? untilTrip(one) < untilTrip(other) : untilTrip(one) > untilTrip(other)
    }
    if (worst === undefined || isWorse(worst)) worst = one
  }
  if (worst === undefined) return { ...base, predicted: null, holds: null, undecided: 'the room has no corner' }
  const { tripS } = worst.run
  const value = untilTrip(worst)
  const courseWorst = { corner: worst.corner, timeS: tripS ?? worst.run.endS, tripS, resolved, at: worst }
  if (tripS !== null) {
    const predicted = fromBase(value, target.unit)
    return { ...base, courseWorst, predicted, holds: meets(value, compare, target) }
  }
  if (meets(value, '>=', target)) return { ...base, courseWorst, predicted: null, holds: compare === '>=' }
  const undecided = `the course ends sooner than what is asked, and nothing has stopped by then`
  return { ...base, predicted: null, holds: null, undecided }
}

/** A clock is held only where each load would run at all. */
function clockDoubt(
  { input, predictions }: Evaluation,
  resolved: ResolvedCourse,
  { run, corner }: CourseAt,
  evidence: Evidence | undefined,
): ReturnType<typeof voltageDoubt> {
  const { bench } = input
  if (bench === undefined || 'undecided' in resolved) return undefined
  const { part } = bench
  for (const { load } of run.steps) {
    if (!isWork(load)) continue
    const settled = predictions.find(one => one.load.load === load && one.corner === corner)?.settled
    const found = settled && voltageDoubt(part, settled.notes, evidence)
    if (found !== undefined) return found
  }
  const fastestOf = (extremes: Extremes | undefined): number => extremes?.get('clock')?.high.value ?? 0
  const groupsMhz = part.groups?.map(({ name }) => fastestOf(run.groups?.find(one => one.group === name)?.extremes))
  return fastestDoubt(part, groupsMhz, fastestOf(run.extremes), evidence)
}

/** Judges what is expected of a course. `pending` until its runs are made. */
export function judgeCourse(evaluation: Evaluation, question: Asked, evidence: Evidence | undefined): Expectation {
  const { course: name } = question
  const undecided = (why: string): Expectation => {
    return { ...question, predicted: null, holds: null, worst: undefined, undecided: why }
  }
  const definition = evaluation.profile.courses.find(one => one.name === name)
  if (definition === undefined) return undecided(`no course is called \`${name ?? ''}\``)
  const { group } = question
  if (group !== undefined && evaluation.input.bench?.part.groups?.some(one => one.name === group) === false)
    return undecided(`the part has no group \`${group}\``)
  const [unread] = unreadOf(evaluation.profile)
  if (unread !== undefined) return undecided(`\`${unreadText(unread)}\` does not read`)
  const [unusual] = doubtedOf(evaluation.profile)
  if (unusual !== undefined) return undecided(`\`${doubtedText(unusual)}\` is far from what is usual`)
  const resolved = resolveCourse(evaluation, definition)
  const at = courseRuns(evaluation, resolved)
  if (at === 'pending') return { ...undecided('the course is being followed'), pending: true }
  if ('undecided' in at) return undecided(at.undecided)
  return judgeRuns(evaluation, question, resolved, at, evidence)
}

/** Judges what is expected of a course by its runs in every corner of the room. */
export function judgeRuns(
  evaluation: Evaluation,
  question: Asked,
  resolved: ResolvedCourse,
  at: readonly CourseAt[],
  evidence: Evidence | undefined,
): Expectation {
  const { figure, compare, target } = question
  const undecided = (why: string): Expectation => {
    return { ...question, predicted: null, holds: null, worst: undefined, undecided: why }
  }
  if (figure === 'trips') return judgeTrip(question, resolved, at)
  let worst: (Value & { readonly one: CourseAt }) | undefined
  for (const one of at) {
    const found = figureIn(question, one)
    if (found === undefined) return undecided(whyAbsent(question))
    const stops = figure === 'clock' && one.run.tripS !== null
    const isWorse = worst === undefined || (compare === '>=' ? found.value < worst.value : found.value > worst.value)
    if (stops) {
      // A machine that has stopped holds nothing.
      worst = { ...found, one }
      break
    }
    if (isWorse) worst = { ...found, one }
  }
  if (worst === undefined) return undecided('the room has no corner')
  const { value, timeS, one } = worst
  const stops = figure === 'clock' && one.run.tripS !== null
  const holds = !stops && meets(value, compare, target)
  const courseWorst = { corner: one.corner, timeS, tripS: one.run.tripS, resolved, at: one }
  const found = { ...question, worst: undefined, predicted: fromBase(value, target.unit), holds, courseWorst }
  if (figure !== 'clock' || !holds) return found
  for (const each of at) {
    const doubt = clockDoubt(evaluation, resolved, each, evidence)
    if (doubt !== undefined) return { ...found, holds: null, doubt, undecided: doubt.why }
  }
  return found
}

function whyAbsent({ figure, group, course }: Asked): string {
  if (figure === 'drive-power') return 'there is no thermoelectric plate to drive'
  if (group !== undefined) return `group \`${group}\` is idle throughout \`${course ?? ''}\``
  return 'no step of the course has a core at work'
}
