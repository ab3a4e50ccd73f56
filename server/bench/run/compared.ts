/** Measured beside predicted, for one run. */

import { onceFor } from '../../../grammar/once.ts'
import { type Bench, type Corner, finished, type Interval, isWork, type Load, settle } from '../../model/index.ts'
import { resolveCourse } from '../../semantic/courses.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { ProfileInput } from '../../semantic/input.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { Scope } from '../../semantic/scope.ts'
import { uncertaintyInSlices } from '../../semantic/uncertainty.ts'
import { uncoveredText } from '../../semantic/uncovered.ts'
import { type Figure, figuresIn, type Reading } from '../log/figures.ts'
import type { LogResult } from '../log/reader.ts'
import { type CourseLog, courseLogOf } from './course-compared.ts'
import type { LoggedStep } from './course-log.ts'
import { ofMeasuring } from './instruments.ts'
import { benchAt, predictedAt } from './kept-predictions.ts'
import { loggedDuty, type MeasuredRun, measuredRun, seriesOf } from './measured.ts'
import { type OddFigure, oddFigures } from './plausible.ts'
import { predictedFigure } from './predicted-figure.ts'
import type { RunPrediction } from './prediction.ts'
import type { RunRecord } from './record.ts'
import { profileOfRun, type RunRevision, type RunSettings } from './settings.ts'

export interface ComparedFigure {
  readonly figure: Figure
  readonly measured: Reading
  /** At the run's own air and humidity. */
  readonly predicted: number
  /** From the constants' `±`, and from the air's. */
  readonly predictedUncertainty: number
  /** Measured less predicted. */
  readonly difference: number
  /** Of the difference, one standard uncertainty: reading, prediction and instrument together. */
  readonly combinedUncertainty: number
  /** The difference is more than twice that: chance does not explain it. */
  readonly off: boolean
}

export interface ComparedRun extends MeasuredRun {
  /** Undefined where nothing can be predicted; `cannot` says why. */
  readonly predicted: RunPrediction | undefined
  readonly cannot: string | undefined
  /** Figures that cannot be as they stand. */
  readonly odd: readonly OddFigure[]
  /** Whether that is with the profile as it was when the run was made. */
  readonly settings: RunSettings
  /** The profile at the run's revision, where that can be read. */
  readonly asRun: ResolvedProfile | undefined
  /** The same with the constants of the bench as they were known then. */
  readonly asKnownThen: ResolvedProfile | undefined
  /** Of a run under a course: where its steps are in the log, or why they are not found. */
  readonly courseLog: CourseLog | string | undefined
  /** Found when it is first asked for: carrying the constants' uncertainty may take a tenth of a second. */
  readonly compared: readonly ComparedFigure[]
}

/** Chance does not explain a difference of more standard uncertainties than this. */
const COVERAGE = 2

/** A range as one value with the uncertainty of anything between its ends being as likely (JCGM 100:2008, 4.3.7). */
function middle(low: number, high: number): Reading {
  return { value: (low + high) / 2, standardUncertainty: (high - low) / Math.sqrt(12) }
}

function cornerOf(
  record: RunRecord,
  corners: readonly Corner[],
  assumed: string[],
): { air: Reading; humidity: Reading } {
  const airs = corners.map(({ airC }) => airC)
  const humidities = corners.map(({ humidityPct }) => humidityPct)
  const air = record.air ?? middle(Math.min(...airs), Math.max(...airs))
  const humidity = record.humidity ?? middle(Math.min(...humidities), Math.max(...humidities))
  if (record.air === undefined) assumed.push(`air ${air.value} °C, the middle of the room`)
  if (record.humidity === undefined) assumed.push(`humidity ${humidity.value} %, the middle of the room`)
  return { air, humidity }
}

/** The load at the core count that was run: the highest, where the load has a range of them. */
function loadOf(record: RunRecord, loads: readonly LoadCase[], assumed: string[]): LoadCase | undefined {
  const cases = loads.filter(({ name }) => name === record.load)
  const found = cases.at(-1)
  if (cases.length > 1 && found !== undefined && isWork(found.load)) {
    assumed.push(`${found.load.cores} cores, the most that ${record.load} has`)
  }
  return found
}

/** What a run is compared with. */
interface RunExpected {
  /** A sentence where nothing can be predicted. */
  readonly predicted: RunPrediction | string
  readonly settings: RunSettings
  readonly asRun: ResolvedProfile | undefined
  /** The same with the constants of the bench as they were known then. */
  readonly asKnownThen: ResolvedProfile | undefined
}

interface Known {
  readonly evaluation: Evaluation
  readonly predicted: RunPrediction | string
}

/** Evicted with the run's record, which goes with its chunk; replaced when the profile is evaluated again. */
const known = new WeakMap<RunRecord, Known>()

/**
 * What a run's profile is predicted to do under the run's load, in the air of the run.
 * @param revision what is known of the revision that the run names
 */
function predictRun(scope: Scope, record: RunRecord, revision?: RunRevision): RunExpected {
  const { evaluation, settings, asRun, asKnownThen } = profileOfRun(scope, record, revision)
  if (evaluation === undefined)
    return { predicted: `there is no profile ${record.profile}`, settings, asRun, asKnownThen }
  const before = known.get(record)
  if (before?.evaluation === evaluation) return { predicted: before.predicted, settings, asRun, asKnownThen }
  const predicted = predictIn(evaluation, record)
  known.set(record, { evaluation, predicted })
  return { predicted, settings, asRun, asKnownThen }
}

function predictIn(evaluation: Evaluation, record: RunRecord): RunPrediction | string {
  const { bench, corners, loads } = evaluation.input
  if (bench === undefined || corners.length === 0) return `${record.profile} cannot be predicted`
  const assumed: string[] = []
  const load = record.course === undefined ? loadOf(record, loads, assumed) : undefined
  if (record.course !== undefined) return courseOf(evaluation, record)
  if (load === undefined && record.load === 'off') return 'its cooler does not say `drive-when-off yes`'
  if (load === undefined) return `there is no load ${record.load} that the part can run`
  const { air, humidity } = cornerOf(record, corners, assumed)
  const corner = { airC: air.value, humidityPct: humidity.value }
  const prediction = predictedAt(bench, load, corner, evaluation.input.assumed)
  if (prediction === undefined) {
    const uncovered = isWork(load.load) ? uncoveredText(bench, [load.load]) : undefined
    return uncovered ?? `no step of ${record.profile} covers the cores of ${record.load}`
  }
  const { settled } = prediction
  return { evaluation, load, corner, airUncertaintyK: air.standardUncertainty, settled, prediction, assumed }
}

/** What a course comes to in the air of a run: its loads there, with the one that takes most power in front. */
function courseOf(evaluation: Evaluation, record: RunRecord): RunPrediction | string {
  const { input, profile } = evaluation
  const { bench, corners, loads } = input
  const definition = profile.courses.find(({ name }) => name === record.course)
  if (definition === undefined) return `there is no course ${record.course}`
  const resolved = resolveCourse(evaluation, definition)
  if ('undecided' in resolved) return resolved.undecided
  if (bench === undefined) return `${record.profile} cannot be predicted`
  const assumed: string[] = []
  const { air, humidity } = cornerOf(record, corners, assumed)
  const corner = { airC: air.value, humidityPct: humidity.value }
  const { course } = resolved
  const begin = course.start.kind === 'settled' ? [course.start.load] : []
  const wanted: readonly Load[] = [...begin, ...course.lines.flatMap(line => (line.kind === 'step' ? [line.load] : []))]
  const settled = new Map<Load, Prediction>()
  for (const load of [...wanted, { kind: 'idle' } as const]) {
    if (settled.has(load)) continue
    // Those that are built in are made afresh for each line.
    const found = loads.find(one => one.load === load || (!isWork(load) && one.load.kind === load.kind))
    const made = predictedAt(bench, found ?? { name: load.kind, definition: undefined, load }, corner, input.assumed)
    if (made !== undefined) settled.set(load, made)
  }
  const powerOf = (one: Prediction): number => one.settled.powerW ?? 0
  const prediction = [...settled.values()].reduce((best, one) => (powerOf(one) > powerOf(best) ? one : best))
  return {
    evaluation,
    load: prediction.load,
    corner,
    airUncertaintyK: air.standardUncertainty,
    settled: prediction.settled,
    prediction,
    assumed,
    ofCourse: { resolved, course, settled },
  }
}

/** The prediction at a fan duty that was measured, which counts in place of what the profile's table gives. */
function atFanDuty(predicted: RunPrediction, dutyPct: number): RunPrediction {
  const { evaluation, prediction } = predicted
  const { bench } = evaluation.input
  if (bench === undefined) return predicted
  const driven = benchAt(bench, dutyPct)
  const assumed = prediction.assumed.filter(one => !one.startsWith('fan '))
  const made = predictedAt(driven, predicted.load, predicted.corner, assumed)
  if (made === undefined) return predicted
  const atDuty = { ...evaluation, input: { ...evaluation.input, bench: driven } }
  return { ...predicted, evaluation: atDuty, settled: made.settled, prediction: made }
}

/** One standard uncertainty by the constants; where draws have no balance, by the end of the interval that there is. */
function ofConstants({ value, standardUncertainty, low, high }: Interval): number {
  if (standardUncertainty !== null || value === null) return standardUncertainty ?? 0
  return Math.max(0, ...[low, high].map(end => (end === null ? 0 : Math.abs(end - value)))) / COVERAGE
}

/** One standard uncertainty of a predicted figure. */
const predictedUncertainty = (figure: Figure, predicted: RunPrediction, bench: Bench): number =>
  finished(uncertaintyOfFigure(figure, predicted, bench))

/** What was carried of each figure. */
const carriedFigures = onceFor((_prediction: Prediction) => new Map<Figure, CarriedFigure>())

interface CarriedFigure extends Pick<ProfileInput, 'uncertain' | 'correlated'> {
  readonly airUncertaintyK: number
  readonly standardUncertainty: number
}

function* uncertaintyOfFigure(figure: Figure, predicted: RunPrediction, bench: Bench): Generator<undefined, number> {
  const { prediction, airUncertaintyK, evaluation } = predicted
  const { uncertain, correlated } = evaluation.input
  const before = carriedFigures(prediction).get(figure)
  const isSame = before?.uncertain === uncertain && before.correlated === correlated
  if (isSame && before.airUncertaintyK === airUncertaintyK) return before.standardUncertainty
  const standardUncertainty = yield* carryFigure(figure, predicted, bench)
  carriedFigures(prediction).set(figure, { uncertain, correlated, airUncertaintyK, standardUncertainty })
  return standardUncertainty
}

function* carryFigure(figure: Figure, predicted: RunPrediction, bench: Bench): Generator<undefined, number> {
  const { evaluation, prediction, load, corner, airUncertaintyK } = predicted
  const carried = yield* uncertaintyInSlices(evaluation.input, prediction, false)
  const constants =
    carried === undefined ? 0 : ofConstants(carried.interval(one => predictedFigure(figure, one, bench.part)))
  if (airUncertaintyK === 0) return constants
  const [low, high] = [-airUncertaintyK, airUncertaintyK].map(by => {
    const moved = settle(bench, load.load, { ...corner, airC: corner.airC + by })
    return moved === null ? null : predictedFigure(figure, moved, bench.part)
  })
  return Math.hypot(constants, typeof low === 'number' && typeof high === 'number' ? (high - low) / 2 : 0)
}

/** Makes what `compared` of a run rests on, a few milliseconds at a time. */
export function* prepareCompared({ predicted, figures }: ComparedRun): Generator<undefined, void> {
  const { bench } = predicted?.evaluation.input ?? {}
  if (predicted === undefined || bench === undefined) return
  if (predicted.ofCourse !== undefined) {
    yield* uncertaintyInSlices(predicted.evaluation.input, predicted.prediction, false)
    return
  }
  for (const figure of figuresIn(Object.keys(figures))) {
    yield* uncertaintyOfFigure(figure, predicted, bench)
    yield
  }
}

/**
 * Within this of what is predicted a measured figure is as predicted: more than chance explains lies outside. Undefined
 * where nothing can be predicted.
 */
export function bandOf(figure: Figure, value: number, predicted: RunPrediction): number | undefined {
  const { bench } = predicted.evaluation.input
  if (bench === undefined) return undefined
  const measuring = ofMeasuring(figure, { value, standardUncertainty: 0 })
  return COVERAGE * Math.hypot(measuring, predictedUncertainty(figure, predicted, bench))
}

/** The value of a figure as it was measured; else as it is predicted. Undefined where there is neither. */
export function bestValue({ predicted, figures }: ComparedRun, figure: Figure): number | undefined {
  const value =
    predicted === undefined ? null : predictedFigure(figure, predicted.settled, predicted.evaluation.input.bench?.part)
  return figures[figure]?.value ?? value ?? undefined
}

/** The same with its uncertainty, a measured one's with its instrument's: of a prediction it may take a second. */
export function* bestFigureInSlices(run: ComparedRun, figure: Figure): Generator<undefined, Reading | undefined> {
  yield* run.settleInSlices()
  const { predicted, figures } = run
  const measured = figures[figure]
  if (measured !== undefined) return { value: measured.value, standardUncertainty: ofMeasuring(figure, measured) }
  const { bench } = predicted?.evaluation.input ?? {}
  const value = bestValue(run, figure)
  if (predicted === undefined || bench === undefined || value === undefined) return undefined
  return { value, standardUncertainty: yield* uncertaintyOfFigure(figure, predicted, bench) }
}

/**
 * Whether any figure may be off at all: one that is within its own uncertainty is so with the prediction's added. Quick,
 * where `compared` is not.
 */
export function mayBeOff({ predicted, figures, courseLog }: ComparedRun): boolean {
  if (typeof courseLog === 'object') {
    const means = courseLog.means() ?? []
    return means.some(({ figure, measured: value, predicted: at }) => {
      return Math.abs(value - at) > COVERAGE * ofMeasuring(figure, { value, standardUncertainty: 0 })
    })
  }
  return figuresIn(Object.keys(figures)).some(figure => {
    const reading = figures[figure]
    const value =
      predicted === undefined
        ? null
        : predictedFigure(figure, predicted.settled, predicted.evaluation.input.bench?.part)
    if (reading === undefined || value === null) return false
    return Math.abs(reading.value - value) > COVERAGE * ofMeasuring(figure, reading)
  })
}

function compareFigure(figure: Figure, measured: Reading, predicted: RunPrediction): ComparedFigure | undefined {
  const value = predictedFigure(figure, predicted.settled, predicted.evaluation.input.bench?.part)
  const { bench } = predicted.evaluation.input
  if (value === null || bench === undefined) return undefined
  const own = predictedUncertainty(figure, predicted, bench)
  const combinedUncertainty = Math.hypot(ofMeasuring(figure, measured), own)
  const difference = measured.value - value
  return {
    figure,
    measured,
    predicted: value,
    predictedUncertainty: own,
    difference,
    combinedUncertainty,
    off: Math.abs(difference) > COVERAGE * combinedUncertainty,
  }
}

/**
 * The means of a course's log beside those of what is predicted, over all of it or over one step; undefined while that is
 * being followed. What the constants leave uncertain is taken as it is of the loads once they have settled, weighed by
 * how long each was at work: all constants act in every step alike.
 */
export function figuresOfCourse(
  predicted: RunPrediction,
  log: CourseLog | string | undefined,
  step?: LoggedStep,
): readonly ComparedFigure[] | undefined {
  const { bench } = predicted.evaluation.input
  const { ofCourse } = predicted
  if (typeof log !== 'object' || bench === undefined || ofCourse === undefined) return []
  const means = log.means(step)
  const steps = step === undefined ? log.steps : [step]
  const rows = steps.reduce((sum, { from, to }) => sum + to - from, 0)
  return means?.map(({ figure, measured: value, predicted: at }) => {
    let own = 0
    const known = new Map<Prediction, number>()
    for (const { load, from, to } of steps) {
      const prediction = ofCourse.settled.get(load)
      if (prediction === undefined || predictedFigure(figure, prediction.settled, bench.part) === null) continue
      const made = { ...predicted, load: prediction.load, settled: prediction.settled, prediction }
      const found = known.get(prediction) ?? predictedUncertainty(figure, made, bench)
      known.set(prediction, found)
      own += ((to - from) / rows) * found
    }
    const measured = { value, standardUncertainty: 0 }
    const combinedUncertainty = Math.hypot(ofMeasuring(figure, measured), own)
    const difference = value - at
    const off = Math.abs(difference) > COVERAGE * combinedUncertainty
    return { figure, measured, predicted: at, predictedUncertainty: own, difference, combinedUncertainty, off }
  })
}

interface KnownComparison extends RunExpected {
  readonly log: LogResult | undefined
  readonly run: ComparedRun
}

/** Evicted with the run's record; replaced when its prediction or its log is another. */
const comparisons = new WeakMap<RunRecord, KnownComparison>()

/**
 * A run's figures beside their predictions.
 * @param log the reading of the run's log; undefined where it names none or it is not read yet
 * @param revision what is known of the revision that the run names
 */
export function compareRun(
  scope: Scope,
  record: RunRecord,
  log: LogResult | undefined,
  revision?: RunRevision,
): ComparedRun {
  const expected = predictRun(scope, record, revision)
  const { predicted, settings, asRun } = expected
  const before = comparisons.get(record)
  const isSame = before?.predicted === predicted && before.settings.from === settings.from && before.asRun === asRun
  if (isSame && before.log === log) return before.run
  const run = compare(record, expected, log)
  comparisons.set(record, { ...expected, log, run })
  return run
}

function compare(
  record: RunRecord,
  { predicted: stated, settings, asRun, asKnownThen }: RunExpected,
  log: LogResult | undefined,
): ComparedRun {
  const asSet = typeof stated === 'string' ? undefined : stated
  const odd = oddFigures(record, log, asSet)
  const duty = record.measured.fan ?? loggedDuty(seriesOf(log, odd))
  const isOne = asSet !== undefined && asSet.ofCourse === undefined
  const predicted = isOne && duty !== undefined ? atFanDuty(asSet, duty.value) : asSet
  const measured = measuredRun(record, log, predicted, odd)
  let compared: readonly ComparedFigure[] | undefined
  let courseLog: CourseLog | string | undefined | 'unknown' = 'unknown'
  const logOfCourse = (): CourseLog | string | undefined => {
    const { bench } = predicted?.evaluation.input ?? {}
    if (courseLog !== 'unknown') return courseLog
    const { series } = measured
    if (predicted?.ofCourse === undefined || bench === undefined || series === undefined) courseLog = undefined
    else courseLog = courseLogOf(series, predicted, bench)
    return courseLog
  }
  return {
    record,
    log,
    series: measured.series,
    settleInSlices: measured.settleInSlices,
    get settled() {
      return measured.settled
    },
    get figures() {
      return measured.figures
    },
    predicted,
    cannot: typeof stated === 'string' ? stated : undefined,
    settings,
    asRun,
    asKnownThen,
    odd,
    get courseLog() {
      return logOfCourse()
    },
    get compared() {
      if (predicted?.ofCourse !== undefined) {
        compared ??= figuresOfCourse(predicted, logOfCourse())
        // While it is being followed there is nothing to keep.
        return compared ?? []
      }
      compared ??=
        predicted === undefined
          ? []
          : figuresIn(Object.keys(measured.figures)).flatMap(figure => {
              const reading = measured.figures[figure]
              return reading === undefined ? [] : (compareFigure(figure, reading, predicted) ?? [])
            })
      return compared
    },
  }
}
