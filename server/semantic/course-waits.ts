/** Steps of a course that wait in vain: where they were at the end, and where they would settle. */

import { type CourseStep, faultsAt, faultyBench, type StepLine, type StepUntil, settle } from '../model/index.ts'
import { temperatureText } from '../wording/figures.ts'
import type { CourseAt, ResolvedCourse } from './courses.ts'
import type { Evaluation } from './evaluate.ts'

type UntilTemperature = Extract<StepUntil, { readonly kind: 'temperature' }>

/** A step that waited in vain, in the corner where it was furthest from what it waits for. */
export interface Waited {
  readonly at: CourseAt
  /** At the end of its time. */
  readonly wasC: number
  /** If the step went on for ever; null where it would not settle. */
  readonly settlesC: number | null
}

function endC({ endDieC, endPlateC, endCoolantC }: CourseStep, { figure }: UntilTemperature): number {
  return figure === 'die' ? endDieC : figure === 'plate' ? endPlateC : endCoolantC
}

function settlesC(
  { input }: Evaluation,
  resolved: ResolvedCourse,
  line: number,
  { load, until }: StepLine,
  { corner }: CourseAt,
): number | null {
  if (input.bench === undefined || 'undecided' in resolved || until.kind === 'time') return null
  const settled = settle(faultyBench(input.bench, load, faultsAt(resolved.course, line)), load, corner)
  if (settled === null) return null
  return until.figure === 'die' ? settled.dieC : until.figure === 'plate' ? settled.plateC : settled.coolantC
}

/** @param line which of the course's lines; undefined where it waits for no temperature, or came there in every corner */
export function waitedInVain(
  evaluation: Evaluation,
  resolved: ResolvedCourse,
  at: readonly CourseAt[],
  line: number,
): Waited | undefined {
  const step = 'undecided' in resolved ? undefined : resolved.course.lines[line]
  if (step?.kind !== 'step' || step.until.kind === 'time') return undefined
  const { until } = step
  let worst: Omit<Waited, 'settlesC'> | undefined
  for (const one of at) {
    const waited = one.run.steps.find(each => each.line === line && each.ended === 'waited')
    if (waited === undefined) continue
    const wasC = endC(waited, until)
    const far = (valueC: number): number => Math.abs(valueC - until.temperatureC)
    if (worst === undefined || far(wasC) > far(worst.wasC)) worst = { at: one, wasC }
  }
  return worst && { ...worst, settlesC: settlesC(evaluation, resolved, line, step, worst.at) }
}

/** `would settle at 24.8 °C` */
export const settlesText = ({ settlesC }: Waited): string =>
  settlesC === null ? 'would not settle at all' : `would settle at ${temperatureText(settlesC)}`
