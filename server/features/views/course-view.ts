/** What is predicted over time, and a log beside it, as a chart: a load from idle, or a run. */

import { loadStartS } from '../../bench/likelihood/blocks.ts'
import type { LogSeries } from '../../bench/log/series.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import type { CourseData, CourseLine, CoursePanel } from '../../charts/course.ts'
import type { SeriesPoint } from '../../charts/thin.ts'
import { isWork, simulate, type Transient } from '../../model/index.ts'
import { fixed } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import type { Series } from '../series.ts'
import { caseName } from './case-words.ts'
import { type At, levelsOf, ofCase, powerLevels } from './course-levels.ts'
import {
  type Followed,
  measuredPoints,
  measuredRows,
  numberOrNull,
  predictedPoints,
  sourcesOf,
  valueAt,
} from './course-lines.ts'
import { noticeText, settlingText } from './growing.ts'
import type { Case, Scene } from './scene.ts'

const residualsOf = (points: readonly SeriesPoint[]): NonNullable<CoursePanel['residuals']> => {
  return { name: 'die, measured less predicted, K', points, sentence: 'Die temperature, measured less predicted.' }
}

interface Drawn {
  readonly title: string
  readonly note: string
  readonly run: Followed | undefined
  readonly log: LogSeries | undefined
  readonly startS: number
  readonly endS: number
}

export function courseOf(
  scene: Scene,
  where: At,
  { title, note, run, log, startS, endS }: Drawn,
): Omit<CourseData, 'counts'> {
  const lines = sourcesOf(run?.series, log, where).flatMap(
    ({ panel, name, whole, unit, values: own, figure, factor }) => {
      // A run's prediction may have been followed for longer than its load lasted.
      const predicted = predictedPoints(run?.series.timeS ?? [], own, factor).filter(({ at }) => at <= endS)
      const measured = measuredPoints(log, figure, startS)
      if (predicted.length === 0 && measured.length === 0) return []
      const values = (predicted.length > 0 ? predicted : measured)
        .map(({ value }) => value)
        .filter(value => !Number.isNaN(value))
      const places = unit === 'GHz' ? 2 : 1
      const span = `${fixed(Math.min(...values), places)} to ${fixed(Math.max(...values), places)} ${unit}`
      const line: CourseLine = {
        name,
        predicted,
        measured,
        sentence: `${whole}: ${span}${measured.length > 0 ? '; dots are measured' : ''}.`,
      }
      return [{ panel, line, unit, whole, figure }]
    },
  )
  const panels = [...new Set(lines.map(({ panel }) => panel))].map((name): CoursePanel => {
    const own = lines.filter(({ panel }) => panel === name).map(({ line }) => line)
    const die = own.find(line => line.name === 'die')
    const residuals = (die?.measured ?? []).flatMap(({ at, value }) => {
      const predicted = valueAt(die?.predicted ?? [], at) ?? Number.NaN
      return Number.isNaN(predicted) ? [] : [{ at, value: value - predicted }]
    })
    const levels = name.startsWith('temperature')
      ? levelsOf(scene, where)
      : name.startsWith('power')
        ? powerLevels(scene)
        : []
    return {
      name,
      lines: own,
      isStepped: !name.startsWith('temperature'),
      levels,
      residuals: residuals.length === 0 ? undefined : residualsOf(residuals),
    }
  })
  const events = run?.events ?? []
  const times = run?.series.timeS ?? []
  return {
    title,
    note,
    panels,
    events: events.map(({ timeS, what, text, place }) => ({
      atS: timeS,
      text: text ?? eventName(what),
      sentence: `At ${fixed(timeS, 1)} s: ${what}.`,
      place,
    })),
    endS,
    figures: {
      head: ['t_s', ...lines.map(({ whole, unit }) => `${whole}, ${unit}`), ...(log === undefined ? [] : ['source'])],
      rows: [
        ...times.map((at, index) => [
          at,
          ...lines.map(({ line }) => numberOrNull(line.predicted[index]?.value)),
          ...(log === undefined ? [] : ['predicted']),
        ]),
        ...(log === undefined
          ? []
          : measuredRows(
              log,
              startS,
              lines.map(({ figure }) => figure),
            )),
      ],
    },
  }
}

/** What the line of an event is called: what gives ratio back, behind the name of the group that it lowers. */
export const eventName = (what: string): string =>
  what.replace('ratio given back: ', '').replace(/^ratio of (\S+) given back: /, '$1: ')

/** A course has about as many values as a picture has columns. */
export const courseStepS = (overS: number): number => Math.max(1, overS / 900)

export interface CourseOptions {
  readonly overS: number
}

/** A course that was followed before, under the names of the output contract. */
export function seriesCourse(scene: Scene, one: Case, series: Series): CourseData {
  const run = {
    series: {
      timeS: series.t_s,
      clockMhz: series.clock_mhz,
      powerW: series.power_w,
      dieC: series.die_c,
      plateC: series.plate_c,
      coolantC: series.coolant_c,
      groups: series.groups?.map(({ group, clock_mhz }) => ({ group, clockMhz: clock_mhz })),
    },
    events: series.events.map(({ t_s, what }) => ({ timeS: t_s, what })),
  }
  const title = `${scene.name}: ${caseName(one)} from an idle bench`
  const note = `At ${cornerText(one.corner)}. Clock and power are means between two values.`
  return courseOf(scene, ofCase(scene, one), {
    title,
    note,
    run,
    log: undefined,
    startS: 0,
    endS: series.t_s.at(-1) ?? 1,
  })
}

/** A load from an idle bench; undefined for one without work, and where idle has no steady state. */
export function loadCourse(scene: Scene, one: Case, { overS }: CourseOptions): CourseData | undefined {
  if (!isWork(one.load)) return undefined
  const run = simulate(scene.bench, one.load, one.corner, { overS, sampleS: courseStepS(overS) })
  if (run === undefined) return undefined
  const title = `${scene.name}: ${caseName(one)} from an idle bench${scene.isWhatIf ? ' (what if)' : ''}`
  const stopped = run.tripped ? ' The machine stops.' : ''
  const note = `At ${cornerText(one.corner)}. Clock and power are means between two values.${stopped}`
  return courseOf(scene, ofCase(scene, one), { title, note, run, log: undefined, startS: 0, endS: run.endS })
}

/** What a run's course is drawn from: its load, how long it lasted, and its log; undefined without a log. */
function runFrame({ record, predicted, log }: ComparedRun) {
  const series = log?.state === 'read' ? log.series : undefined
  if (predicted === undefined || series === undefined || series.timeS.length < 2) return undefined
  const { load, corner, settled } = predicted
  const isBusy = isWork(load.load)
  const startS = loadStartS(series, isBusy ? 'work' : 'idle')
  const endS = Math.max(1, (series.toS.at(-1) ?? 0) - startS)
  const cores = isWork(load.load) ? load.load.cores : 0
  const one: Case = { name: load.name, definition: load.definition, load: load.load, cores, corner, settled }
  const title = `Run ${record.name}: ${record.profile} under ${caseName(one)}`
  return { predicted, one, drawn: { title, log: series, startS, endS } }
}

/** The log alone, for as long as what is predicted for it is being worked out; undefined where there is no log. */
export function logCourse(scene: Scene, compared: ComparedRun): CourseData | undefined {
  const frame = runFrame(compared)
  if (frame === undefined) return undefined
  const note = `Dots measured; what is predicted follows. At ${cornerText(frame.one.corner)}.`
  const course = courseOf(scene, ofCase(scene, frame.one), { ...frame.drawn, note, run: undefined })
  // What comes takes its place already.
  const panels = course.panels.map(panel => {
    return panel.lines.some(({ name }) => name === 'die') ? { ...panel, residuals: residualsOf([]) } : panel
  })
  return { ...course, panels }
}

/**
 * A run's log over what is predicted for it.
 * @param made what is predicted over that time, where it was made before
 * @returns undefined where there is neither log nor prediction
 */
export function runCourse(
  scene: Scene,
  compared: ComparedRun,
  made?: Transient,
): (CourseData & { readonly notice: string | undefined }) | undefined {
  const frame = runFrame(compared)
  if (frame === undefined) return undefined
  const { predicted, one, drawn } = frame
  const { log: series, startS, endS } = drawn
  const { settled: settledLog } = compared
  const { load, corner } = predicted
  const { bench } = predicted.evaluation.input
  const run =
    made ??
    (bench === undefined || !isWork(load.load)
      ? undefined
      : simulate(bench, load.load, corner, { overS: endS, sampleS: courseStepS(endS) }))
  const off = compared.compared.filter(figure => figure.off)
  const die = compared.compared.find(({ figure }) => figure === 'die')
  const settling = settlingText(compared)
  const verdict =
    settling !== undefined
      ? `Not steady yet: ${settling}.`
      : die === undefined
        ? 'Nothing to compare.'
        : `Die measured ${fixed(die.measured.value, 1)} °C, predicted ${fixed(die.predicted, 1)} °C: ${fixed(die.difference, 1)} ± ${fixed(die.combinedUncertainty, 1)} K${off.length === 0 ? ', as predicted' : `; off: ${off.map(({ figure }) => figure).join(', ')}`}.`
  const followed = predictedPoints(run?.series.timeS ?? [], run?.series.dieC, 1)
  const dies = measuredPoints(series, 'die', startS)
  const notice = noticeText(compared, dies, at => valueAt(followed, at))
  const note = `Dots measured, lines predicted. ${verdict} At ${cornerText(corner)}.`
  const course = courseOf(scene, ofCase(scene, one), { ...drawn, note, run })
  return {
    ...course,
    notice: [notice, settling && `It ${settling}.`].filter(one => one !== undefined).join(' ') || undefined,
    counts:
      settledLog === undefined
        ? undefined
        : {
            fromS: settledLog.fromS - startS,
            toS: settledLog.toS - startS,
            text: 'these rows count',
            sentence: `Where it settles follows from the rows from ${fixed(settledLog.fromS - startS, 0)} s to ${fixed(settledLog.toS - startS, 0)} s.`,
          },
  }
}
