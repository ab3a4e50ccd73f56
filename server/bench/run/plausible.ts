/** Figures that cannot be: a column whose unit is another, a sensor that gives nothing or stands still. */

import { onceFor } from '../../../grammar/once.ts'
import type { Span } from '../../../grammar/tree.ts'
import { fromBase, toBase, type Unit, unitsOf } from '../../../grammar/units/units.ts'
import { groupsOf, isWork } from '../../model/index.ts'
import { coreVoltageRange } from '../../semantic/constants.ts'
import { entry, quantity } from '../../semantic/definitions.ts'
import { type Figure, type FigureKind, groupOfFigure, kindOfFigure } from '../log/figures.ts'
import type { ColumnKind } from '../log/mapping.ts'
import type { LogResult, ReadLog } from '../log/reader.ts'
import { upperMedianOf } from '../statistics/moments.ts'
import type { RunPrediction } from './prediction.ts'
import { measuredLines, type Outcome, type RunRecord } from './record.ts'

export interface OddFigure {
  readonly kind: ColumnKind
  readonly from: 'log' | 'hand'
  /** The statement that says what the figure is: a column, or a line of `measured`. */
  readonly span: Span
  /** The unit there; undefined where it stands behind a number. */
  readonly unitSpan: Span | undefined
  readonly unit: Unit
  readonly problem: 'impossible' | 'empty' | 'still'
  /** What was seen, in base units: nearly all readings lie between. For the time, the usual step and all of it. */
  readonly seen: readonly [low: number, high: number]
  /** What could be, of the busy machine. */
  readonly limits: readonly [low: number, high: number]
  /** Units in which what was seen could be. */
  readonly others: readonly Unit[]
}

/** A part is read a little beyond its range where its reference is, or the voltage's sensor is off. */
const MARGIN = 1.2
/** A power further from what is predicted than by this factor is in another unit. */
const FACTOR = 20
/** Beyond where the machine stops only a sensor that overshoots. */
const BEYOND_TRIP_K = 5

type Limits = readonly [low: number, high: number]

/** What a figure can be under the load, from the part where it is known, else from what any bench does. */
function limitsOf(figure: Figure, predicted: RunPrediction | undefined): Limits {
  const { bench } = predicted?.evaluation.input ?? {}
  const part = bench?.part
  const kind = kindOfFigure(figure)
  const around = (value: number | null | undefined, otherwise: Limits): Limits =>
    value == null || !(value > 0) ? otherwise : [value / FACTOR, value * FACTOR]
  switch (kind) {
    case 'clock': {
      if (part === undefined) return [0.05, 10]
      const group = groupOfFigure(figure)
      const named = groupsOf(part).filter(one => group === undefined || ('name' in one && one.name === group))
      // What no group is called says nothing of the unit.
      const among = named.length === 0 ? groupsOf(part) : named
      const isBusy = predicted !== undefined && isWork(predicted.load.load)
      const low = isBusy ? Math.min(...among.map(({ ratioLow }) => ratioLow)) / MARGIN : 0
      const high = Math.max(...among.map(({ ratioHigh }) => ratioHigh)) * MARGIN
      return [low * part.referenceGhz, high * part.referenceGhz]
    }
    case 'voltage': {
      const owner = predicted?.evaluation.profile.part
      const range = owner && coreVoltageRange(owner)
      return range === undefined ? [0.2, 2.5] : [range.lowV / (MARGIN * MARGIN), range.highV * MARGIN]
    }
    case 'power':
      return around(predicted?.settled.powerW, [0.5, 5000])
    case 'current':
      return around(predicted?.settled.currentA, [0.5, 5000])
    case 'drive':
      return around(predicted?.settled.driveA, [0, 200])
    case 'drive-voltage':
      return around(predicted?.settled.driveV, [0, 500])
    case 'fan':
      return [0, 105]
    default:
      return [-80, (part === undefined ? 120 : (part.tripC ?? part.dieLimitC + 10)) + BEYOND_TRIP_K]
  }
}

/** Nearly all of the readings lie between; undefined where there are none. A spike says nothing of the unit. */
const spanOf = onceFor((values: Float64Array): Limits | undefined => {
  const sorted = values.filter(value => !Number.isNaN(value)).sort()
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number
  return sorted.length === 0 ? undefined : [at(0.02), at(0.98)]
})

/** Whether readings can be: the highest is that of the load, and nothing that is counted falls below nothing. */
function canBe([low, high]: Limits, limits: Limits): boolean {
  const floor = limits[0] < 0 ? limits[0] : -0.02 * high
  return high >= limits[0] && high <= limits[1] && low >= floor
}

function othersOf(seen: Limits, limits: Limits, unit: Unit): readonly Unit[] {
  return unitsOf(unit.dimension).filter(other => {
    if (other.symbol === unit.symbol) return false
    const [low, high] = seen.map(value => toBase(fromBase(value, unit), other)) as [number, number]
    return canBe([low, high], limits)
  })
}

/** A logger writes from five hundred times a second to once in two minutes: what is slower shows no steady stretch. */
const STEP_S: Limits = [0.002, 120]
/** Many rows take from seconds to days. */
const LENGTH_S: Limits = [10, 7 * 86_400]

/** The usual step from row to row, and what all rows take at it; gaps are no part of that. */
const timesOf = onceFor(({ series, rows }: ReadLog): Limits => {
  const steps = Array.from(series.fromS.subarray(1), (from, at) => from - (series.fromS[at] as number))
  const step = (upperMedianOf(steps) ?? 0) / series.rowsPerPoint
  return [step, step * (rows - 1)]
})

const within = (value: number, [low, high]: Limits): boolean => value >= low && value <= high

/** What is odd about the times of a log, by their step, by how long they take, and by how long the run is said to have gone. */
function oddTime(
  log: ReadLog,
  unit: Unit,
  outcome: Outcome | undefined,
): Pick<OddFigure, 'seen' | 'others'> | undefined {
  const seen = timesOf(log)
  const by = (other: Unit): Limits => seen.map(value => toBase(fromBase(value, unit), other)) as [number, number]
  const canTake = ([step, length]: Limits): boolean => within(step, STEP_S) && within(length, LENGTH_S)
  const wentS = outcome?.kind === 'held' ? outcome.forS : outcome?.afterS
  /** Whether the log is as long as the run, up to a factor. */
  const isAsLong = (length: number, factor: number): boolean =>
    wentS === undefined || (length * factor >= wentS && length <= wentS * factor)
  // Times of day are in no unit.
  const others = log.clockStartS === undefined ? unitsOf('time').filter(one => one.symbol !== unit.symbol) : []
  const fitting = others.filter(one => canTake(by(one)) && isAsLong(by(one)[1], 20))
  const isContrary = !isAsLong(seen[1], 20) && fitting.some(one => isAsLong(by(one)[1], 2))
  if (canTake(seen) && !isContrary) return undefined
  // Most loggers write about once a second.
  const likely = fitting.toSorted((a, b) => Math.abs(Math.log(by(a)[0])) - Math.abs(Math.log(by(b)[0])))
  return { seen, others: likely.slice(0, 1) }
}

/** Figures that something holds. */
const set: ReadonlySet<FigureKind> = new Set(['clock', 'voltage', 'drive', 'drive-voltage', 'fan'])

/** Fewer readings than this may well be equal. */
const STILL_FROM = 60

function oddColumns(record: RunRecord, log: ReadLog, predicted: RunPrediction | undefined): readonly OddFigure[] {
  const { series, rows } = log
  return (record.log?.columns ?? []).flatMap(({ kind, header, span, unitSpan, unit }): OddFigure[] => {
    if (log.missingColumns.some(one => one.header === header) || rows === 0) return []
    const odd = (problem: OddFigure['problem'], seen: Limits, limits: Limits): OddFigure[] => {
      const others = problem === 'impossible' ? othersOf(seen, limits, unit) : []
      return [{ kind, from: 'log', span, unitSpan, unit, problem, seen, limits, others }]
    }
    if (kind === 'time') {
      if (rows < STILL_FROM) return []
      if (series.toS.at(-1) === series.fromS[0]) return odd('still', [0, 0], STEP_S)
      const found = oddTime(log, unit, record.outcome)
      return found === undefined
        ? []
        : [{ kind, from: 'log', span, unitSpan, unit, problem: 'impossible', limits: STEP_S, ...found }]
    }
    const values = series.figures[kind]
    if (values === undefined) return []
    const limits = limitsOf(kind, predicted)
    const seen = spanOf(values)
    if (seen === undefined) return odd('empty', [Number.NaN, Number.NaN], limits)
    if (!canBe(seen, limits)) return odd('impossible', seen, limits)
    // What is set may well stand still; heat never does.
    const isSteady = set.has(kindOfFigure(kind))
    const first = values[0]
    return !isSteady && rows >= STILL_FROM && values.every(value => value === first) ? odd('still', seen, limits) : []
  })
}

function oddByHand(record: RunRecord, predicted: RunPrediction | undefined): readonly OddFigure[] {
  const table = entry(record.definition.match, 'measured')
  return [...(table === undefined ? [] : measuredLines(table))].flatMap(([kind, line]): OddFigure[] => {
    const found = quantity(line)
    if (found === undefined) return []
    const seen: Limits = [found.value, found.value]
    const limits = limitsOf(kind, predicted)
    if (canBe(seen, limits)) return []
    const { unit } = found
    const { start, end } = line.statement
    const others = othersOf(seen, limits, unit)
    const where = { from: 'hand', span: { start, end }, unitSpan: undefined } as const
    return [{ kind, ...where, unit, problem: 'impossible', seen, limits, others }]
  })
}

/** The figures of a run that cannot be as they stand. They are neither compared nor fitted, but for ones that stand still. */
export function oddFigures(
  record: RunRecord,
  log: LogResult | undefined,
  predicted: RunPrediction | undefined,
): readonly OddFigure[] {
  return [...(log?.state === 'read' ? oddColumns(record, log, predicted) : []), ...oddByHand(record, predicted)]
}
