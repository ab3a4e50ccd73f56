/** What is predicted over time, and a log beside it, as a chart: a load from idle, or a run. */

import { limitWords } from '../../../grammar/vocabulary/index.ts'
import { loadStartS } from '../../bench/likelihood/blocks.ts'
import type { Figure, FigureKind } from '../../bench/log/figures.ts'
import type { LogSeries } from '../../bench/log/series.ts'
import type { ComparedRun } from '../../bench/run/compared.ts'
import type { CourseData, CourseLine, CoursePanel } from '../../charts/course.ts'
import type { MarkPlace } from '../../charts/picture.ts'
import type { SeriesPoint } from '../../charts/thin.ts'
import { firstServing } from '../../model/first-serving.ts'
import { groupLoads, isWork, type Load, simulate, type Transient } from '../../model/index.ts'
import { dieCeilingC } from '../../model/ratio.ts'
import { runsCold } from '../../semantic/coolers/index.ts'
import { limits, limitUnit } from '../../semantic/limiters.ts'
import { fixed, plain, temperatureText } from '../../wording/figures.ts'
import { cornerText } from '../../wording/places.ts'
import type { Series } from '../series.ts'
import { caseName } from './case-words.ts'
import { noticeText, settlingText } from './growing.ts'
import { bandRow, type Case, ceilingPlace, type Scene } from './scene.ts'

type Column = 'clockMhz' | 'powerW' | 'dieC' | 'plateC' | 'coolantC'

/** The lines of the panels: what is predicted, what is measured of it, and its unit. */
const columns: readonly {
  readonly panel: string
  readonly name: string
  readonly unit: string
  readonly column: Column
  readonly figure: FigureKind
  readonly factor: number
}[] = [
  { panel: 'clock, GHz', name: 'clock', unit: 'GHz', column: 'clockMhz', figure: 'clock', factor: 1e-3 },
  { panel: 'power, W', name: 'power', unit: 'W', column: 'powerW', figure: 'power', factor: 1 },
  { panel: 'temperature, °C', name: 'die', unit: '°C', column: 'dieC', figure: 'die', factor: 1 },
  { panel: 'temperature, °C', name: 'plate', unit: '°C', column: 'plateC', figure: 'plate', factor: 1 },
  { panel: 'temperature, °C', name: 'coolant', unit: '°C', column: 'coolantC', figure: 'coolant', factor: 1 },
]

/** A line of a panel before its points are known. */
interface Source {
  readonly panel: string
  /** At its end in the picture. */
  readonly name: string
  /** In the table, where it stands without its panel. */
  readonly whole: string
  readonly unit: string
  readonly factor: number
  readonly values: readonly (number | null)[] | undefined
  readonly figure: Figure
}

/** The lines of a run: of a part with groups one clock for each group that is ever at work. */
function sourcesOf(
  series: Followed['series'] | undefined,
  log: LogSeries | undefined,
  { busy }: At,
): readonly Source[] {
  return columns.flatMap(({ column, ...one }): Source[] => {
    const names = one.figure === 'clock' ? busy.flatMap(({ group }) => group ?? []) : []
    if (names.length === 0) return [{ ...one, whole: one.name, values: series?.[column] }]
    return names.map((name, index): Source => {
      const own = `clock ${name}` as const
      // Without a name it is that of the first group that has active cores.
      const isNamed = index > 0 || log?.figures[own] !== undefined
      const values = series?.groups?.find(({ group }) => group === name)?.clockMhz
      return { ...one, name, whole: own, values, figure: isNamed ? own : 'clock' }
    })
  })
}

function predictedPoints(
  timeS: readonly number[],
  values: readonly (number | null)[] | undefined,
  factor: number,
): readonly SeriesPoint[] {
  if (values === undefined) return []
  const points = timeS.map((at, index) => {
    const value = values[index] ?? Number.NaN
    return { at, value: Number.isFinite(value) ? value * factor : Number.NaN }
  })
  return points.some(({ value }) => !Number.isNaN(value)) ? points : []
}

function measuredPoints(log: LogSeries | undefined, figure: Figure, startS: number): readonly SeriesPoint[] {
  const values = log?.figures[figure]
  if (log === undefined || values === undefined) return []
  // What comes before the load is no part of its course.
  return [...values].flatMap((value, index) => {
    const at = (log.timeS[index] ?? 0) - startS
    return Number.isNaN(value) || at < 0 ? [] : [{ at, value }]
  })
}

/** The value of a line at a time, straight between two points. */
function valueAt(points: readonly SeriesPoint[], at: number): number | undefined {
  const last = points.length - 1
  if (last < 1 || at < (points[0] as SeriesPoint).at || at > (points[last] as SeriesPoint).at) return undefined
  const next = firstServing(0, last, index => (points[index] as SeriesPoint).at > at)
  const [a, b] = [points[next - 1] as SeriesPoint, points[next] as SeriesPoint]
  return a.value + ((b.value - a.value) * (at - a.at)) / (b.at - a.at || 1)
}

/** Core counts that are at work; of a part with groups those of one of them. */
interface Busy {
  readonly group: string | undefined
  readonly counts: readonly number[]
}

/** What levels of temperature depend on: the core counts that are at work, and the air's wet point. */
interface At {
  readonly busy: readonly Busy[]
  readonly wetC: number
}

/** The core counts that some loads keep busy, in the part's order. */
export function busyIn({ bench: { part } }: Scene, loads: readonly Load[]): readonly Busy[] {
  const work = loads.filter(isWork)
  const countsOf = (of: (load: (typeof work)[number]) => number): readonly number[] =>
    [...new Set(work.map(of))].filter(cores => cores > 0)
  const { groups } = part
  if (groups === undefined) return [{ group: undefined, counts: countsOf(({ cores }) => cores) }]
  return groups
    .map(({ name }, index) => ({ group: name, counts: countsOf(load => groupLoads(part, load)[index]?.cores ?? 0) }))
    .filter(({ counts }) => counts.length > 0)
}

const ofCase = (scene: Scene, { load, settled }: Case): At => ({ busy: busyIn(scene, [load]), wetC: settled.wetC })

/** The thresholds of the bands that act at these counts, each with a count and a group that it acts on. */
function thresholdsOf({ bench: { part, profile } }: Scene, busy: readonly Busy[]) {
  return busy.flatMap(({ group, counts }) => {
    const at = part.groups?.findIndex(({ name }) => name === group) ?? -1
    const bands = (group === undefined ? profile : profile.groups?.[at])?.bands ?? []
    const found = new Map<number, number>()
    for (const { fromCores, toCores, aboveC } of bands) {
      const cores = counts.find(count => count >= fromCores && count <= toCores)
      if (cores !== undefined) found.set(aboveC, cores)
    }
    return [...found].map(([aboveC, cores]) => ({ aboveC, cores, group }))
  })
}

function levelsOf(scene: Scene, { busy, wetC }: At): CoursePanel['levels'] {
  const { bench } = scene
  const ceilingC = dieCeilingC(bench.part, bench.profile)
  const wetName = wetC < 0 ? 'frost point' : 'dew point'
  return [
    {
      at: ceilingC,
      text: `die limit ${plain(ceilingC)} °C`,
      sentence: `Die limit ${plain(ceilingC)} °C.`,
      place: ceilingPlace(scene),
      kind: 'limit',
    },
    ...thresholdsOf(scene, busy).map(({ aboveC: at, cores, group }) => {
      const row = bandRow(scene, cores, at, group)
      const whose = group === undefined ? '' : ` of ${group}`
      return {
        at,
        text: `band${whose} ${plain(at)} °C`,
        sentence: `Above ${plain(at)} °C a band gives ratio${whose} back.`,
        place: scene.placeOf(row?.definition, row?.match),
        kind: 'level' as const,
      }
    }),
    ...(runsCold(bench.cooler)
      ? [
          {
            at: wetC,
            text: `${wetName} ${temperatureText(wetC)}`,
            sentence: `${wetName} ${temperatureText(wetC)}.`,
            place: undefined,
            kind: 'wet' as const,
          },
        ]
      : []),
  ]
}

function powerLevels({ bench, evaluation, placeOf }: Scene): CoursePanel['levels'] {
  const ofPower = limitWords.filter(word => limitUnit(word) === 'W')
  return ofPower.flatMap(word => {
    const at = limits[word]?.valueOf(bench)
    if (at === undefined) return []
    const line = evaluation.profile.inner('limits', word)
    return [
      {
        at,
        text: `${word} ${plain(at)} W`,
        sentence: `${word} ${plain(at)} W.`,
        place: placeOf(line?.definition, line?.match),
        kind: 'limit' as const,
      },
    ]
  })
}

const residualsOf = (points: readonly SeriesPoint[]): NonNullable<CoursePanel['residuals']> => {
  return { name: 'die, measured less predicted, K', points, sentence: 'Die temperature, measured less predicted.' }
}

/** What is predicted over time. */
export interface Followed {
  readonly series: Readonly<Record<'timeS' | Column, readonly number[]>> & {
    /** The clock of each group of cores, in the part's order; nothing where all cores are alike. */
    readonly groups?: readonly { readonly group: string; readonly clockMhz: readonly (number | null)[] }[] | undefined
  }
  readonly events: readonly {
    readonly timeS: number
    readonly what: string
    /** What its line is called; what happens, without it. */
    readonly text?: string
    readonly place?: MarkPlace | undefined
  }[]
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

const numberOrNull = (value: number | undefined): number | null =>
  value === undefined || Number.isNaN(value) ? null : value

function measuredRows(log: LogSeries, startS: number, figures: readonly Figure[]): (string | number | null)[][] {
  return [...log.timeS].map((at, index) => [
    at - startS,
    ...figures.map(figure => numberOrNull(log.figures[figure]?.[index])),
    'measured',
  ])
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
