/** What a course comes to, under the names of outputs and in the words of every page that shows it. */

import {
  type CourseRun,
  type CourseStep,
  type Extremes,
  followCourseInSlices,
  isWork,
  type Series as ModelSeries,
  wetPointC,
} from '../model/index.ts'
import { drivenPlate, runsCold } from '../semantic/coolers/index.ts'
import { distinctCorners } from '../semantic/corners.ts'
import { settlesText, waitedInVain } from '../semantic/course-waits.ts'
import {
  type CourseAt,
  type CourseLine,
  idleFaults,
  longestOf,
  notRunText,
  type ResolvedCourse,
  resolveCourse,
} from '../semantic/courses.ts'
import { type Definition, text } from '../semantic/definitions.ts'
import { driveTargetC } from '../semantic/drives.ts'
import type { Evaluation } from '../semantic/evaluate.ts'
import { differenceText, temperatureText } from '../wording/figures.ts'
import { cornerText } from '../wording/places.ts'
import { durationText } from '../wording/times.ts'
import { groupCounts, groupSeries } from './series.ts'

/** A step of a course, by the output contract: full doubles, null where a figure does not exist. */
interface CourseStepFigures {
  /** Its line in the course's file, from 1. */
  readonly line: number
  readonly load: string
  readonly start_s: number
  readonly end_s: number
  readonly ended: CourseStep['ended']
  readonly clock_low_mhz: number | null
  readonly power_high_w: number | null
  readonly die_high_c: number | null
  readonly plate_low_c: number | null
  readonly coolant_high_c: number | null
  readonly above_wet_low_k: number | null
  /** In the part's order; absent where all cores are alike. */
  readonly groups?: readonly { readonly group: string; readonly cores: number; readonly clock_low_mhz: number | null }[]
}

/** A course in one corner, by the output contract. */
export interface CourseFigures {
  readonly profile: string
  readonly course: string
  readonly room: string
  readonly air_c: number
  readonly humidity_pct: number
  readonly end_s: number
  readonly trip_s: number | null
  readonly steps: readonly CourseStepFigures[]
  readonly events: readonly { readonly t_s: number; readonly what: string }[]
  readonly assumed: readonly string[]
}

/** A course on a profile: what it comes to in every corner, or why it cannot be followed. */
export interface FollowedCourse {
  readonly evaluation: Evaluation
  readonly resolved: ResolvedCourse
  readonly at: readonly CourseAt[]
  readonly undecided: string | undefined
}

/** How far a course is followed: which of the corners, from 1, and how much of the time that it may last at the most. */
export interface CourseProgress {
  readonly corner: number
  readonly corners: number
  readonly passedS: number
  readonly longestS: number
}

interface FollowOptions {
  /** Distance of the values of its series, in s. */
  readonly everyS?: number | undefined
  readonly tell?: ((progress: CourseProgress) => void) | undefined
}

/** Follows a course in every corner of a profile's room, a stretch at a time. */
export function* followAllInSlices(
  evaluation: Evaluation,
  definition: Definition,
  { everyS, tell }: FollowOptions = {},
): Generator<undefined, FollowedCourse> {
  const resolved = resolveCourse(evaluation, definition)
  const { bench, corners } = evaluation.input
  if ('undecided' in resolved) return { evaluation, resolved, at: [], undecided: resolved.undecided }
  if (bench === undefined) return { evaluation, resolved, at: [], undecided: 'the profile is not predicted' }
  const at: CourseAt[] = []
  const distinct = [...distinctCorners(bench, corners)]
  const longestS = longestOf(definition)
  for (const [index, { corner, alike }] of distinct.entries()) {
    const run = yield* followCourseInSlices(bench, resolved.course, corner, {
      ...(everyS === undefined ? {} : { sampleS: everyS }),
      passed: passedS => tell?.({ corner: index + 1, corners: distinct.length, passedS, longestS }),
    })
    if ('undecided' in run) return { evaluation, resolved, at: [], undecided: notRunText(bench, run, definition.name) }
    for (const one of alike) at.push({ corner: one, wetC: wetPointC(one.airC, one.humidityPct), run })
  }
  const inOrder = corners.flatMap(corner => at.find(one => one.corner === corner) ?? [])
  return { evaluation, resolved, at: inOrder, undecided: undefined }
}

const lowOf = (extremes: Extremes, figure: 'clock' | 'plate'): number | null => extremes.get(figure)?.low.value ?? null
const highOf = (extremes: Extremes, figure: 'power' | 'die' | 'coolant'): number | null =>
  extremes.get(figure)?.high.value ?? null

/** The load of a step as its line names it. */
export function loadNameOf(line: CourseLine | undefined): string {
  return line === undefined ? '' : (text(line.match, 'load')?.text ?? '')
}

/** @param lineOf the line of a statement in its file, from 1, by the statement's offset in its chunk */
export function courseFigures(
  { evaluation, resolved }: FollowedCourse,
  { corner, wetC, run }: CourseAt,
  lineOf: (offset: number) => number,
): CourseFigures {
  const { lines, definition, assumed } = resolved
  return {
    profile: evaluation.profile.definition.name,
    course: definition.name,
    room: evaluation.profile.room?.name ?? '',
    air_c: corner.airC,
    humidity_pct: corner.humidityPct,
    end_s: run.endS,
    trip_s: run.tripS,
    steps: run.steps.map(step => {
      const plateC = lowOf(step.extremes, 'plate')
      return {
        line: lineOf(lines[step.line]?.match.statement.start ?? 0),
        load: loadNameOf(lines[step.line]),
        start_s: step.startS,
        end_s: step.endS,
        ended: step.ended,
        clock_low_mhz: lowOf(step.extremes, 'clock'),
        power_high_w: highOf(step.extremes, 'power'),
        die_high_c: highOf(step.extremes, 'die'),
        plate_low_c: plateC,
        coolant_high_c: highOf(step.extremes, 'coolant'),
        above_wet_low_k: plateC === null ? null : plateC - wetC,
        ...stepGroups(evaluation, step),
      }
    }),
    events: run.events.map(one => ({ t_s: one.timeS, what: eventText(lines, one) })),
    assumed,
  }
}

/** The lowest clock of each group of cores in a step; nothing where all cores are alike. */
function stepGroups({ input }: Evaluation, { load, groups }: CourseStep): Pick<CourseStepFigures, 'groups'> {
  const counts = input.bench && groupCounts(input.bench.part, load)
  if (counts === undefined) return {}
  const lowest = (name: string): number | null => {
    const own = groups?.find(({ group }) => group === name)
    return own === undefined ? null : lowOf(own.extremes, 'clock')
  }
  return { groups: counts.map(one => ({ ...one, clock_low_mhz: lowest(one.group) })) }
}

/** What happens, with the load that was at work. */
export function eventText(lines: readonly CourseLine[], { line, kind, what }: CourseRun['events'][number]): string {
  return kind === 'fault' ? what : `${loadNameOf(lines[line])}: ${what}`
}

/** Series of a course under the names of the output contract; no clock while no core is at work, no drive without modules. */
export function courseSeries(
  { evaluation, resolved }: FollowedCourse,
  { corner, run }: CourseAt,
): Readonly<Record<string, unknown>> {
  const { series }: { series: ModelSeries } = run
  const cooler = evaluation.input.bench?.cooler
  const hasPlate = cooler !== undefined && drivenPlate(cooler) !== undefined
  return {
    profile: evaluation.profile.definition.name,
    course: resolved.definition.name,
    room: evaluation.profile.room?.name ?? '',
    air_c: corner.airC,
    humidity_pct: corner.humidityPct,
    t_s: series.timeS,
    clock_mhz: series.clockMhz.map(value => (Number.isNaN(value) ? null : value)),
    power_w: series.powerW,
    die_c: series.dieC,
    plate_c: series.plateC,
    coolant_c: series.coolantC,
    drive_a: hasPlate ? series.driveA : series.driveA.map(() => null),
    ...groupSeries(series),
    events: run.events.map(one => ({ t_s: one.timeS, what: eventText(resolved.lines, one) })),
  }
}

/** The corner with the largest of a figure; undefined where none has it. */
function most<T extends CourseAt>(at: readonly T[], figure: (one: T) => number | undefined): T | undefined {
  let best: { readonly one: T; readonly value: number } | undefined
  for (const one of at) {
    const value = figure(one)
    if (value !== undefined && (best === undefined || value > best.value)) best = { one, value }
  }
  return best?.one
}

/** What a person asks of an evening: whether it stops, how long until what is waited for, how far the plate undershoots. */
export function courseAnswers(followed: FollowedCourse): readonly string[] {
  const { at, resolved, evaluation } = followed
  return [
    ...tripAnswers(at),
    ...waitAnswers(evaluation, resolved, at),
    ...undershootAnswers(evaluation, resolved, at),
    ...faultAnswers(evaluation, resolved),
  ]
}

function tripAnswers(at: readonly CourseAt[]): readonly string[] {
  const stopped = at.filter(({ run }) => run.tripS !== null)
  const soonest = most(stopped, ({ run }) => -(run.tripS ?? 0))
  if (soonest === undefined) return []
  const { tripS, faultS } = soonest.run
  const since = faultS === null || tripS === null ? '' : `, ${durationText(tripS - faultS)} after the fault`
  const where = stopped.length === at.length ? 'soonest at' : 'at'
  return [`The machine stops after ${durationText(tripS ?? 0)}${since}, ${where} ${cornerText(soonest.corner)}.`]
}

const stepOf = ({ run }: CourseAt, line: number): CourseStep | undefined => run.steps.find(one => one.line === line)
const lasted = (one: CourseAt, line: number): number | undefined => {
  const step = stepOf(one, line)
  return step === undefined ? undefined : step.endS - step.startS
}

function waitAnswers(evaluation: Evaluation, resolved: ResolvedCourse, at: readonly CourseAt[]): readonly string[] {
  if ('undecided' in resolved) return []
  return resolved.course.lines.flatMap((line, index) => {
    if (line.kind !== 'step' || line.until.kind !== 'temperature') return []
    const { until } = line
    const what = `${loadNameOf(resolved.lines[index])} until ${until.figure} ${until.compare} ${until.temperatureC} °C`
    const reached = at.filter(one => stepOf(one, index)?.ended === 'reached')
    const slowest = most(reached, one => lasted(one, index))
    const quickest = most(reached, one => -(lasted(one, index) ?? 0))
    const time = (one: CourseAt): string => `${durationText(lasted(one, index) ?? 0)} at ${cornerText(one.corner)}`
    const answers: string[] = []
    if (slowest !== undefined && quickest !== undefined) {
      const isOne = lasted(slowest, index) === lasted(quickest, index)
      answers.push(`${what}: after ${isOne ? time(slowest) : `${time(quickest)} to ${time(slowest)}`}.`)
    }
    const furthest = waitedInVain(evaluation, resolved, at, index)
    if (furthest !== undefined) {
      const where = `within ${durationText(until.withinS)} at ${cornerText(furthest.at.corner)}`
      const was = `${until.figure} was at ${temperatureText(furthest.wasC)}`
      answers.push(`${what}: not reached ${where}: ${was}, and ${settlesText(furthest)}.`)
    }
    return answers
  })
}

/** The rest that follows a load: how cold the plate gets in it, and how long after the load's end. */
interface Undershoot extends CourseAt {
  readonly lowC: number
  readonly afterS: number
  readonly targetC: number | undefined
}

function undershootAfter(evaluation: Evaluation, one: CourseAt, line: number): Undershoot | undefined {
  const { steps } = one.run
  const from = steps.findIndex(step => step.line === line) + 1
  const rests: CourseStep[] = []
  for (const step of steps.slice(from)) {
    if (isWork(step.load)) break
    rests.push(step)
  }
  const lows = rests.flatMap(({ extremes }) => extremes.get('plate')?.low ?? [])
  const lowest = lows.reduce<(typeof lows)[number] | undefined>(
    (best, low) => (best === undefined || low.value < best.value ? low : best),
    undefined,
  )
  const ended = steps[from - 1]?.endS ?? 0
  if (lowest === undefined) return undefined
  const drive = evaluation.input.bench?.profile.drive
  const targetC = drive === undefined ? undefined : driveTargetC(drive, one.corner)
  return { ...one, lowC: lowest.value, afterS: lowest.timeS - ended, targetC }
}

/** So little is a sensor's noise. */
const NOTHING_K = 0.05

function undershootAnswers(
  { input, ...evaluation }: Evaluation,
  resolved: ResolvedCourse,
  at: readonly CourseAt[],
): readonly string[] {
  const { bench } = input
  if ('undecided' in resolved || bench === undefined || !runsCold(bench.cooler)) return []
  if (drivenPlate(bench.cooler) === undefined) return []
  return resolved.course.lines.flatMap((line, index) => {
    if (line.kind !== 'step' || !isWork(line.load)) return []
    const found = at.flatMap(one => undershootAfter({ input, ...evaluation }, one, index) ?? [])
    const worst = most(found, one => one.wetC - one.lowC)
    if (worst === undefined) return []
    const { lowC, wetC, targetC, afterS, corner } = worst
    const above = lowC - wetC
    const wet = `${differenceText(Math.abs(above))} ${above < 0 ? 'below' : 'above'} the wet point`
    const belowK = targetC === undefined ? 0 : targetC - lowC
    const target = belowK > NOTHING_K ? `${differenceText(belowK)} below its target, ` : ''
    const name = loadNameOf(resolved.lines[index])
    const when = afterS >= 1 ? ` within ${durationText(afterS)}` : ''
    return [
      `When ${name} ends the plate falls to ${temperatureText(lowC)}${when}: ${target}${wet}, at ${cornerText(corner)}.`,
    ]
  })
}

function faultAnswers({ input }: Evaluation, { definition, lines }: ResolvedCourse): readonly string[] {
  const { bench } = input
  const faults = lines.filter(({ kind }) => kind === 'fault')
  if (bench === undefined || faults.length === 0) return []
  const idle = idleFaults(bench, definition)
  const nothing = idle.map(match => {
    const what = text(match, 'fault')?.text ?? 'drive'
    return `\`fault ${what}\` does nothing here: the cooler is ${bench.cooler.kind}, which has no ${what} to fail.`
  })
  return idle.length === faults.length
    ? nothing
    : [...nothing, 'What a fault leaves of a cooler is engineering judgement, not measured on this bench.']
}

/** `7 min to 34 min`; one where both read the same. */
function spanText(low: number, high: number, text: (value: number) => string): string {
  const [from, to] = [text(low), text(high)]
  return from === to ? from : `${from} to ${to}`
}

/** What a course comes to over the corners of the room, in one line. */
export function courseGlance(at: readonly CourseAt[]): string {
  const values = (of: (one: CourseAt) => number | null | undefined): readonly number[] =>
    at.flatMap(one => of(one) ?? [])
  const trips = values(({ run }) => run.tripS)
  const ends = values(({ run }) => run.endS)
  const dies = values(({ run }) => run.extremes.get('die')?.high.value)
  const plates = values(({ run }) => run.extremes.get('plate')?.low.value)
  return [
    trips.length > 0
      ? `stops after ${durationText(Math.min(...trips))}`
      : `ends after ${spanText(Math.min(...ends), Math.max(...ends), durationText)}`,
    ...(dies.length > 0 ? [`die up to ${temperatureText(Math.max(...dies))}`] : []),
    ...(plates.length > 0 ? [`plate down to ${temperatureText(Math.min(...plates))}`] : []),
  ].join(', ')
}
