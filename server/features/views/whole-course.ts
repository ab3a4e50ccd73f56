/** A course of a profile as a chart: in the corner of the room where it goes worst, with its steps and faults named. */

import type { ComparedRun } from '../../bench/run/compared.ts'
import type { CourseData } from '../../charts/course.ts'
import { type Bench, type CourseStep, followCourseInSlices, wetPointC } from '../../model/index.ts'
import { distinctCorners } from '../../semantic/corners.ts'
import { type CourseAt, longestOf, notRunText, type ResolvedCourse, resolveCourse } from '../../semantic/courses.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { fixed } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import { type CourseProgress, eventText, loadNameOf } from '../courses.ts'
import { busyIn } from './course-levels.ts'
import type { Followed } from './course-lines.ts'
import { courseOf, courseStepS, eventName } from './course-view.ts'
import type { Scene } from './scene.ts'

type Tell = ((progress: CourseProgress) => void) | undefined

/** One that stops is worse than one that does not, then the one that stops sooner, then the hotter one. */
function isWorse(one: CourseAt, other: CourseAt): boolean {
  const [own, its] = [one, other].map(({ run }) => run.tripS ?? Number.POSITIVE_INFINITY) as [number, number]
  if (own !== its) return own < its
  const [die, otherDie] = [one, other].map(({ run }) => run.extremes.get('die')?.high.value ?? 0) as [number, number]
  return die > otherDie
}

/** Evicted with the bench's input, which a changed constant or setting replaces. */
const followed = new WeakMap<Bench, Map<string, CourseAt | string>>()

/** A course in the corner where it goes worst, or why it cannot be followed. */
function* worstInSlices(scene: Scene, resolved: ResolvedCourse, tell: Tell): Generator<undefined, CourseAt | string> {
  if ('undecided' in resolved) return resolved.undecided
  const { bench, corners } = scene
  const key = JSON.stringify([resolved.course, corners])
  const before = followed.get(bench)?.get(key)
  if (before !== undefined) return before
  const longestS = longestOf(resolved.definition)
  const sampleS = courseStepS(longestS)
  let worst: CourseAt | string = 'the room has no corner'
  const distinct = [...distinctCorners(bench, corners)]
  for (const [index, { alike }] of distinct.entries()) {
    const wets = alike.map(corner => ({ corner, wetC: wetPointC(corner.airC, corner.humidityPct) }))
    const wettest = wets.reduce((best, one) => (one.wetC > best.wetC ? one : best))
    const run = yield* followCourseInSlices(bench, resolved.course, wettest.corner, {
      sampleS,
      passed: passedS => tell?.({ corner: index + 1, corners: distinct.length, passedS, longestS }),
    })
    if ('undecided' in run) return notRunText(bench, run, resolved.definition.name)
    const one = { ...wettest, run }
    if (typeof worst === 'string' || isWorse(one, worst)) worst = one
  }
  const kept = followed.get(bench) ?? new Map<string, CourseAt | string>()
  followed.set(bench, kept.set(key, worst))
  return worst
}

/** Where each step begins, and what happens in it, at the lines that say so. */
function eventsOf(scene: Scene, { definition, lines }: ResolvedCourse, { run }: CourseAt): Followed['events'] {
  const placeOf = (line: number) => scene.placeOf(definition, lines[line]?.match)
  const begins = run.steps.map(({ line, startS }: CourseStep) => {
    const text = loadNameOf(lines[line])
    return { timeS: startS, what: `${text} begins`, text, place: placeOf(line) }
  })
  const others = run.events.map(one => {
    const text = eventName(one.what)
    return { timeS: one.timeS, what: eventText(lines, one), text, place: placeOf(one.line) }
  })
  return [...begins, ...others].sort((a, b) => a.timeS - b.timeS)
}

/**
 * The chart of a course, or why there is none, in words that follow "because". A slice takes well below a millisecond.
 * @param tell called now and then with how far it is
 */
export function* wholeCourseInSlices(
  scene: Scene,
  definition: Definition,
  tell?: Tell,
): Generator<undefined, CourseData | string> {
  const resolved = resolveCourse(scene.evaluation, definition)
  const worst = yield* worstInSlices(scene, resolved, tell)
  if (typeof worst === 'string') return worst
  const { run, corner, wetC } = worst
  const stopped = run.tripS === null ? '' : ' The machine stops.'
  const loads = run.steps.map(({ load }) => load)
  return courseOf(
    scene,
    { busy: busyIn(scene, loads), wetC },
    {
      title: `${scene.name}: course ${definition.name}${scene.isWhatIf ? ' (what if)' : ''}`,
      note: `At ${cornerText(corner)}. Clock and power are means between two values.${stopped}`,
      run: { series: run.series, events: eventsOf(scene, resolved, worst) },
      log: undefined,
      startS: 0,
      endS: Math.max(1, run.endS),
    },
  )
}

/**
 * The log of a run under a course over what is predicted for it, its steps as long as they were logged; undefined where
 * there is no log, or its steps are not found in it.
 * @returns the log alone for as long as the course is being followed
 */
export function courseRunData(scene: Scene, compared: ComparedRun): (CourseData & { isFirst: boolean }) | undefined {
  const { record, predicted, courseLog, series } = compared
  const { ofCourse, corner } = predicted ?? {}
  if (typeof courseLog !== 'object' || ofCourse === undefined || corner === undefined || series === undefined)
    return undefined
  const run = courseLog.followed()
  const isFirst = run === 'pending'
  const made = run === 'pending' || 'undecided' in run ? undefined : run
  const { steps, startS, endS } = courseLog
  const { definition, lines } = ofCourse.resolved
  const begins = steps.map(({ line, from }) => {
    const text = loadNameOf(lines[line])
    const place = scene.placeOf(definition, lines[line]?.match)
    return { timeS: (series.fromS[from] ?? 0) - startS, what: `${text} begins`, text, place }
  })
  const die = compared.compared.find(({ figure }) => figure === 'die')
  const off = compared.compared.filter(figure => figure.off).map(({ figure }) => figure)
  const verdict =
    die === undefined
      ? ''
      : ` Die over all of it ${fixed(die.difference, 1)} ± ${fixed(die.combinedUncertainty, 1)} K from what is predicted${off.length === 0 ? '' : `; off: ${off.join(', ')}`}.`
  const loads = steps.map(({ load }) => load)
  const course = courseOf(
    scene,
    { busy: busyIn(scene, loads), wetC: wetPointC(corner.airC, corner.humidityPct) },
    {
      title: `Run ${record.name}: ${record.profile} under course ${definition.name}`,
      note: isFirst
        ? `Dots measured; what is predicted follows. At ${cornerText(corner)}.`
        : `Dots measured, lines predicted.${verdict} At ${cornerText(corner)}.`,
      run: { series: made?.series ?? noSeries, events: begins },
      log: series,
      startS,
      endS: Math.max(1, endS - startS),
    },
  )
  return { ...course, isFirst }
}

const noSeries: Followed['series'] = { timeS: [], clockMhz: [], powerW: [], dieC: [], plateC: [], coolantC: [] }
