/** Courses for reading and for scripts. */

import type { CourseAt } from '../../semantic/courses.ts'
import {
  courseAnswers,
  courseFigures,
  courseSeries,
  eventText,
  type FollowedCourse,
  loadNameOf,
  wording,
} from '../../service.ts'
import { headText, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import { type Column, tableText, widthOf, wrapped } from './table.ts'

/** A course on one profile, and where both stand. */
export interface PlacedCourse {
  readonly file: string
  readonly line: number
  readonly name: string
  readonly followed: FollowedCourse
  readonly unread: string | undefined
  /** The line of a statement of the course in its file, from 1, by the statement's offset in its chunk. */
  readonly lineOf: (offset: number) => number
}

/** @param groups names of the part's groups of cores, each with a clock of its own; none where all cores are alike */
const columnsOf = (groups: readonly string[]): readonly Column[] => [
  { head: 'from', side: 'right', key: true },
  { head: 'to', side: 'right' },
  { head: 'load', side: 'left', key: true },
  { head: 'ends', side: 'left' },
  ...(groups.length === 0 ? ['low'] : groups).map((head): Column => ({ head: `${head} MHz`, side: 'right' })),
  { head: 'high W', side: 'right' },
  { head: 'die °C', side: 'right' },
  { head: 'plate °C', side: 'right' },
  { head: 'wet + K', side: 'right' },
]

const legend =
  'Each step: lowest clock over a second, highest power, hottest die, coldest plate, and the least that the plate was above the wet point.'

/** Corners whose figures differ in more than the wet point; of those that do not, the most humid. */
function shownCorners(at: readonly CourseAt[]): readonly CourseAt[] {
  return at.filter(one => !at.some(other => other.run === one.run && other.wetC > one.wetC))
}

function cornerTable({ resolved, ...rest }: FollowedCourse, one: CourseAt, width: number): string {
  const { steps } = courseFigures({ resolved, ...rest }, one, () => 0)
  const { column } = wording
  const groups = steps[0]?.groups?.map(({ group }) => group) ?? []
  const rows = steps.map((step, index) =>
    [
      wording.clockTime(step.start_s),
      wording.clockTime(step.end_s),
      loadNameOf(resolved.lines[one.run.steps[index]?.line ?? -1]),
      step.ended === 'waited' ? 'not reached' : step.ended,
      ...(step.groups ?? [step]).map(own => (own.clock_low_mhz === null ? '' : column(own.clock_low_mhz, 0))),
      column(step.power_high_w, 1),
      column(step.die_high_c, 1),
      column(step.plate_low_c, 1),
      column(step.above_wet_low_k, 1),
    ].map(text => ({ text })),
  )
  const events = one.run.events.filter(({ kind }) => kind !== 'waited')
  const list = events.map(event => `${wording.clockTime(event.timeS)} ${eventText(resolved.lines, event)}`).join('; ')
  const head = `at ${wording.cornerText(one.corner)}, wet point ${wording.temperatureText(one.wetC)}: ends after ${wording.durationText(one.run.endS)}\n`
  return `${head}${tableText(columnsOf(groups), rows, width)}${list === '' ? '' : wrapped(list, '  ', width)}`
}

/** The answers of an evening first, then each corner step by step. @param all corners that differ in nothing but the wet point too */
export function coursesText(courses: readonly PlacedCourse[], io: Io, all: boolean): string {
  const [paint, width] = [paintFor(io, io.out), widthOf(io)]
  return courses
    .filter(({ followed }) => followed.undecided === undefined)
    .map(({ file, line, name, followed, unread }) => {
      const course = followed.resolved.definition.name
      const head = headText(paint, `course ${course} of profile ${name}`, `${file}:${line}`)
      const without = unread === undefined ? '' : wrapped(unread, '  ', width)
      const answers = courseAnswers(followed).map(answer => wrapped(answer, '  ', width))
      const tables = (all ? followed.at : shownCorners(followed.at)).map(one => cornerTable(followed, one, width))
      return `${head}${without}${answers.join('')}${wrapped(legend, '  ', width)}\n${tables.join('\n')}`
    })
    .join('\n')
}

/** All values as doubles, by the output contract; the series where they were asked for. */
export function coursesJson(courses: readonly PlacedCourse[], withSeries: boolean): string {
  const found = courses.flatMap(({ file, followed, lineOf }) =>
    followed.at.map(one => ({ file, ...courseFigures(followed, one, lineOf) })),
  )
  const series = courses.flatMap(({ file, followed }) =>
    followed.at.map(one => ({ file, ...courseSeries(followed, one) })),
  )
  return `${JSON.stringify({ version: 1, courses: found, ...(withSeries ? { series } : {}) })}\n`
}
