/** Runs and remembered points as evidence: what each says, with what it was read to, or why it says nothing. */
import { type Bench, type Cooler, isWork, type Part } from '../../model/index.ts'
import { askedOf, type KnownPoint, saysSomething, usualUncertainty } from '../../semantic/known.ts'
import { type LogEvidence, logEvidence } from '../likelihood/log.ts'
import { type LogPoint, PREDICTED_CLOCK_SHARE } from '../likelihood/log-point.ts'
import {
  type BenchAt,
  type PointEvidence,
  pointEvidence,
  type SeenKind,
  type SeenPoint,
  type SeenReadings,
} from '../likelihood/seen-point.ts'
import { type Figure, type FigureKind, figuresIn, kindOfFigure, type Reading, type Readings } from '../log/figures.ts'
import type { ComparedRun } from '../run/compared.ts'
import { fillGroups, groupWorkOf, withLead } from '../run/group-work.ts'
import { airOf, coursePointOf, expectedOf, insteadOf, logPointOf, workOf } from '../run/log-point.ts'
import type { RunPrediction } from '../run/prediction.ts'
import { logText, oddText, tooLittleText, unmeasuredText } from '../run/wording.ts'

/** The bench that a sitting was made on, at some values of the unknowns, and the unknowns that it depends on. */
export interface SittingBench {
  readonly cooler: Cooler | undefined
  readonly benchAt: (at: ArrayLike<number>) => BenchAt
  readonly unknowns: readonly number[]
  /** Index of the unknown by which the room warms over each log. */
  readonly warming?: number | undefined
}

export type Sitting = {
  /** The run's name; of a remembered point its row. */
  readonly name: string
  /** Undefined for a remembered point. */
  readonly run: ComparedRun | undefined
  readonly coolerName: string | undefined
} & (
  | {
      readonly kind: 'point'
      readonly point: SeenPoint
      readonly evidence: PointEvidence
    }
  | { readonly kind: 'log'; readonly point: LogPoint; readonly evidence: LogEvidence }
)

/** How well a predicted drive is known; engineering judgement. */
const PREDICTED_DRIVE_SHARE = 0.03

/** Figures that are worth as much as power: supplies show current and voltage as well as meters show power. Judgement. */
const asPower: ReadonlySet<SeenKind> = new Set(['current', 'drive', 'drive-voltage'])

/** A figure with at least the uncertainty that it has where it was read off and nobody says how well. */
function worth(kind: Figure | 'air', { value, standardUncertainty }: Reading): Reading {
  const plain = kind === 'air' ? kind : kindOfFigure(kind)
  const name = asPower.has(plain)
    ? 'power'
    : (plain as Exclude<FigureKind | 'air', 'current' | 'drive' | 'drive-voltage'>)
  return { value, standardUncertainty: Math.max(standardUncertainty, usualUncertainty(name, value)) }
}

/** @param stated the figures whose uncertainty the run states */
function handPoint(
  figures: Readings,
  stated: ReadonlySet<string>,
  predicted: RunPrediction,
  bench: Bench,
  isAirStated: boolean,
): SeenPoint {
  const readings: SeenReadings = { air: airOf(predicted, isAirStated) }
  for (const kind of figuresIn(Object.keys(figures))) {
    const own = figures[kind]
    if (own !== undefined) readings[kind] = stated.has(kind) ? own : worth(kind, own)
  }
  const { part, profile } = bench
  const { load } = predicted.load
  if (isWork(load)) withLead(readings, part, load)
  const expected = expectedOf(predicted.evaluation, bench, predicted.settled)
  const instead = insteadOf(expected)
  const isClockSet =
    readings.clock === undefined &&
    readings.voltage !== undefined &&
    part.groups === undefined &&
    instead.voltage?.clockOf !== undefined
  if (readings.clock === undefined && !isClockSet && instead.clockGhz !== undefined)
    readings.clock = { value: instead.clockGhz, standardUncertainty: PREDICTED_CLOCK_SHARE * instead.clockGhz }
  if (readings.drive === undefined && instead.driveA !== undefined)
    readings.drive = { value: instead.driveA, standardUncertainty: PREDICTED_DRIVE_SHARE * instead.driveA }
  if (readings.drive === undefined && readings.plate === undefined && instead.plate !== undefined)
    readings.plate = instead.plate
  const work = workOf(load, one => groupWorkOf(part, one, figure => readings[figure] !== undefined, expected))
  if (work?.groups !== undefined) fillGroups(readings, work.groups, part, PREDICTED_CLOCK_SHARE)
  const voltages = work?.groups?.map(({ voltage }) => voltage) ?? ['voltage' as const]
  const isRead = !isClockSet && voltages.every(kind => readings[kind] !== undefined)
  const set = isRead ? undefined : instead.voltage
  if (set !== undefined) readings['off-set'] = { value: 0, standardUncertainty: set.standardUncertainty }
  return { work, readings, fan: profile.fan, ...(set && { set }) }
}

/** Why a run whose figures were to come from a log has none. */
function withoutFigures({ record, log, settled }: ComparedRun): string {
  if (record.log === undefined) return unmeasuredText(record)
  if (log === undefined) return 'its log is not read'
  return log.state === 'read' && log.rows > 0 && settled === undefined ? tooLittleText : logText(log)
}

/**
 * A run as evidence on its bench, or why it says nothing.
 * @param predicted what is predicted for it, or for another profile and load in its place
 */
export function sittingOf(
  run: ComparedRun,
  benchFor: (cooler: string) => SittingBench,
  predicted: RunPrediction | undefined = run.predicted,
): Sitting | string {
  const { record } = run
  if (predicted === undefined) return run.cannot ?? 'it cannot be predicted'
  const { cooler } = predicted.evaluation.profile
  const { bench } = predicted.evaluation.input
  if (bench === undefined || cooler === undefined) return 'it cannot be predicted'
  if (predicted.load.load.kind === 'off') return 'a machine that is off says nothing of these constants'
  const byHand = Object.keys(record.measured).length > 0
  const [odd] = run.odd.filter(({ problem, from }) => problem !== 'still' && from === (byHand ? 'hand' : 'log'))
  if (odd !== undefined) return oddText(odd)
  if (predicted.ofCourse !== undefined && byHand) return 'figures read off by hand are those of a load, not of a course'
  const at = benchFor(cooler.name)
  const shared = { name: record.name, run, coolerName: cooler.name }
  const isAirStated = record.stated.has('air')
  if (!byHand) {
    if (run.series === undefined || at.cooler === undefined) return withoutFigures(run)
    const { courseLog } = run
    if (typeof courseLog === 'string') return courseLog
    const point =
      courseLog === undefined
        ? logPointOf(run.series, predicted, bench, isAirStated)
        : coursePointOf(run.series, courseLog.steps, predicted, bench, isAirStated)
    const evidence = logEvidence(point, { ...at, cooler: at.cooler })
    return evidence.size === 0 ? withoutFigures(run) : { ...shared, kind: 'log', point, evidence }
  }
  const point = handPoint(run.figures, record.stated, predicted, bench, isAirStated)
  const evidence = pointEvidence(point, at.cooler, at.benchAt, at.unknowns)
  if (evidence.size === 0) return 'its figures say nothing of these constants'
  return { ...shared, kind: 'point', point, evidence }
}

/** Where a remembered point does not say how fast the fan was, half to full is likely; engineering judgement. */
const UNKNOWN_FAN: Reading = { value: 75, standardUncertainty: 20 }

/** A remembered point as evidence, or why it says nothing. */
export function knownSitting(
  known: KnownPoint,
  part: Part,
  name: string,
  bench: SittingBench,
  coolerName: string | undefined,
): Sitting | string {
  if (!saysSomething(known)) return 'it has fewer than two of power, die temperature, and voltage with clock'
  const { cores, activity, fan } = known
  const asked = askedOf(known, part)
  if (cores === undefined || asked === undefined) return 'neither it nor the part says how many cores were busy'
  const readings: SeenReadings = { ...known.readings, fan: fan ?? UNKNOWN_FAN }
  const groups = groupWorkOf(part, asked, figure => readings[figure] !== undefined)
  if (groups !== undefined) fillGroups(readings, groups, part, 0)
  const work = { cores, activity: activity.value, uneven: 1, ...(groups && { groups }) }
  const point: SeenPoint = { work, readings, fan: [] }
  const evidence = pointEvidence(point, bench.cooler, bench.benchAt, bench.unknowns)
  if (evidence.size === 0) return 'its readings say nothing of these constants'
  return { name, run: undefined, coolerName, kind: 'point', point, evidence }
}
