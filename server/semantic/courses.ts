/** Courses: what their lines say, as the model takes it, and what each comes to on a profile's bench. */

import type { Match } from '../../grammar/values.ts'
import { shareWords } from '../model/cooler/faults.ts'
import {
  type Bench,
  type Corner,
  type Course,
  type CourseNotRun,
  type CourseRun,
  coresOf,
  type FaultLine,
  faultsOf,
  isWork,
  type Load,
  type StepUntil,
  wetPointC,
} from '../model/index.ts'
import { durationText } from '../wording/times.ts'
import { loadConstants } from './constants.ts'
import { distinctCorners } from './corners.ts'
import { type Definition, entry, quantity, text } from './definitions.ts'
import type { Evaluation } from './evaluate.ts'
import type { ProfileInput } from './input.ts'
import { leftOutText } from './load-cases.ts'
import { uncoveredText } from './uncovered.ts'
import { readStateOf, unreadText } from './unread.ts'

/** The most that a course may come to, what it waits for at the longest. */
export const longestCourseS = 24 * 3600
const DEFAULT_WITHIN_S = 30 * 60

/** A line of a course in its order: a step or a fault. */
export interface CourseLine {
  readonly match: Match
  readonly kind: 'step' | 'fault'
}

const isLine = (match: Match): boolean => match.word?.word === '' || match.word?.word === 'fault'

/** The lines that read, in their order. */
export function courseLines({ match }: Definition): readonly CourseLine[] {
  return match.children
    .filter(one => one.sound && isLine(one))
    .map(one => ({ match: one, kind: one.word?.word === '' ? 'step' : 'fault' }))
}

/** What a step waits for. */
function untilOf(match: Match): StepUntil | undefined {
  const time = quantity(match, 'time')
  if (time !== undefined) return { kind: 'time', forS: time.value }
  const temperature = quantity(match, 'temperature')
  const figure = text(match, 'figure')?.text
  if (temperature === undefined || (figure !== 'die' && figure !== 'plate' && figure !== 'coolant')) return undefined
  return {
    kind: 'temperature',
    figure,
    compare: text(match, 'compare')?.text === '>=' ? '>=' : '<=',
    temperatureC: temperature.value,
    withinS: quantity(match, 'within')?.value ?? DEFAULT_WITHIN_S,
  }
}

/** How long a course may last at the most, in s. */
export function longestOf(course: Definition): number {
  return courseLines(course).reduce((sum, { match, kind }) => {
    const until = kind === 'step' ? untilOf(match) : undefined
    return sum + (until === undefined ? 0 : until.kind === 'time' ? until.forS : until.withinS)
  }, 0)
}

function faultOf(match: Match): FaultLine | undefined {
  const drive = text(match, 'drive')?.text
  if (drive !== undefined) return { kind: 'fault', word: 'drive', isOn: drive === 'on' }
  const stated = text(match, 'fault')?.text
  const word = shareWords.find(one => one === stated)
  const pct = quantity(match, 'left')?.value
  if (pct === undefined || word === undefined) return undefined
  return { kind: 'fault', word, pct }
}

/** A course on one profile's bench: as the model takes it, or why it cannot be followed there. */
export type ResolvedCourse = {
  readonly definition: Definition
  /** In the model's order. */
  readonly lines: readonly CourseLine[]
  readonly assumed: readonly string[]
} & ({ readonly course: Course } | { readonly undecided: string })

/** A load by its name as a course runs it, on the most of its cores; or why not. */
function loadOf({ bench, loads }: ProfileInput, { profile }: Evaluation, name: string): Load | string {
  if (name === 'idle' || name === 'off') return { kind: name }
  const definition = profile.loads.find(one => one.name === name)
  if (definition === undefined) return `no load is called \`${name}\``
  const constants = loadConstants(definition).value
  if (constants === undefined) return `load \`${name}\` is not complete`
  const { toCores } = constants
  if (toCores > (bench?.part.cores ?? toCores)) return `load \`${name}\` asks for more cores than the part has`
  const found = loads.find(one => one.definition === definition && coresOf(one.load) === toCores)
  const leftOut = bench && leftOutText(bench.part, constants)
  if (leftOut !== undefined) return `load \`${name}\` is left out: ${leftOut}`
  return found?.load ?? `no row of \`steps\` covers the ${toCores} cores of \`${name}\``
}

/** A course with its loads found on a profile's bench. */
export function resolveCourse(evaluation: Evaluation, definition: Definition): ResolvedCourse {
  const { input } = evaluation
  const lines = courseLines(definition)
  const assumed = new Set<string>(input.assumed)
  const base = { definition, lines }
  const unread = readStateOf(definition.chunk).unread[0]
  if (unread !== undefined) {
    const why = `\`${unreadText(unread)}\` of course \`${definition.name}\` does not read`
    return { ...base, assumed: [], undecided: why }
  }
  if (!lines.some(({ kind }) => kind === 'step'))
    return { ...base, assumed: [], undecided: `course \`${definition.name}\` has no step` }
  const longest = longestOf(definition)
  if (longest > longestCourseS) {
    const why = `course \`${definition.name}\` may last ${durationText(longest)}, and ${durationText(longestCourseS)} is the most`
    return { ...base, assumed: [], undecided: why }
  }
  const load = (match: Match): Load | string => {
    const name = text(match, 'load')?.text ?? ''
    for (const one of input.loadAssumed.get(name) ?? []) assumed.add(one)
    return loadOf(input, evaluation, name)
  }
  const begin = entry(definition.match, 'start')
  if (begin === undefined) assumed.add('start idle')
  const startLoad: Load | string =
    begin !== undefined && text(begin, 'load') !== undefined ? load(begin) : { kind: 'idle' }
  if (typeof startLoad === 'string') return { ...base, assumed: [], undecided: startLoad }
  const modelLines: Course['lines'][number][] = []
  for (const { match, kind } of lines) {
    if (kind === 'fault') {
      const fault = faultOf(match)
      if (fault !== undefined) modelLines.push(fault)
      continue
    }
    const found = load(match)
    if (typeof found === 'string') return { ...base, assumed: [], undecided: found }
    const until = untilOf(match)
    if (until === undefined) continue
    if (until.kind === 'temperature' && quantity(match, 'within') === undefined) assumed.add('within 30 min')
    modelLines.push({ kind: 'step', load: found, until })
  }
  const isRoom = begin !== undefined && text(begin, 'start')?.text === 'room'
  const start: Course['start'] = isRoom ? { kind: 'room' } : { kind: 'settled', load: startLoad }
  return { ...base, assumed: [...assumed].sort(), course: { start, lines: modelLines } }
}

/** The faults of a course that its cooler cannot have, in their order. */
export function idleFaults({ cooler }: Bench, course: Definition): readonly Match[] {
  const can = faultsOf(cooler)
  return courseLines(course).flatMap(({ match, kind }) => {
    const fault = kind === 'fault' ? faultOf(match) : undefined
    return fault === undefined || can.includes(fault.word) ? [] : [match]
  })
}

/** A course in one corner of a profile's room. */
export interface CourseAt {
  readonly corner: Corner
  readonly wetC: number
  readonly run: CourseRun
}

/** Why a course cannot be followed on a bench. */
export function notRunText(bench: Bench, { undecided, load }: CourseNotRun, name: string): string {
  if (undecided === 'steps') {
    const uncovered = isWork(load) ? uncoveredText(bench, [load]) : undefined
    return `${uncovered ?? `no row of \`steps\` covers the ${coresOf(load)} cores`} of a load of \`${name}\``
  }
  const what = load.kind === 'work' ? 'the load that it starts from' : `\`${load.kind}\``
  return `course \`${name}\` cannot start: ${what} is over the die limit or has no steady temperature there`
}

/** A course in every corner of a profile's room; `pending` while runs are being made; else why there is none. */
export function courseRuns(
  { input, overTime }: Evaluation,
  resolved: ResolvedCourse,
): readonly CourseAt[] | 'pending' | { readonly undecided: string } {
  const { bench, corners } = input
  if ('undecided' in resolved) return { undecided: resolved.undecided }
  if (bench === undefined) return { undecided: 'the profile is not predicted' }
  const found: CourseAt[] = []
  let isPending = false
  for (const { corner, alike } of distinctCorners(bench, corners)) {
    const run = overTime.course(bench, resolved.course, corner)
    if (run === 'pending') isPending = true
    else if ('undecided' in run) return { undecided: notRunText(bench, run, resolved.definition.name) }
    else for (const one of alike) found.push({ corner: one, wetC: wetPointC(one.airC, one.humidityPct), run })
  }
  if (isPending) return 'pending'
  return corners.flatMap(corner => found.find(one => one.corner === corner) ?? [])
}
