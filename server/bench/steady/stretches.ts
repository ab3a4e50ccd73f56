/**
 * Steady stretches of a log, and the means over them.
 *
 * A log is cut where it has gaps, and where the load starts and ends: where the power (the die temperature, where no
 * power is logged) goes through the middle between its lowest and its highest. In each piece a window as long as the
 * bench's slowest time constant is moved from the end to the beginning. It is steady where what remains to be settled,
 * slope × time constant, is no more than half a kelvin at the die and half a percent of the power, or than three of its
 * own standard uncertainties; one of those must be within the same limits, and a window that scatters too much for that is
 * made longer. Its end must be of one level with the rest. A steady one grows backwards as long as it stays so, what
 * passes within it counted instead of what remains once that is more; a step that fails is passed over where one within
 * the next window's length does not. Its beginning is still of the warm-up, within the limits: two time constants of it
 * are left out, as far as a whole window is left. Without that means lie beside the truth by their own uncertainty.
 *
 * The bench may be slower than it is said to be. So what a window had still to go is read off the log as well
 * (`settling.ts`), and no window counts that had more than the limits. Of windows at one power, earlier ones that the last
 * does not agree with were not settled; where they lasted longer than the last, nothing says that it is.
 *
 * Where a load swings evenly, so that nothing stands still, means over whole periods take the place of readings.
 *
 * The mean's uncertainty accounts for correlated readings, and includes a drift that shows, as a rectangle of that
 * half-width, at most what was still to go, in full, and the step in which the figure is logged, once, unless readings move across it
 * (JCGM 100:2008, 4.3.7 and F.2.2.1).
 */

import { GAP_FACTOR } from '../log/clock.ts'
import { type FigureKind, figureKinds, type Readings } from '../log/figures.ts'
import type { LogSeries } from '../log/series.ts'
import { upperMedianOf } from '../statistics/moments.ts'
import { halfWidth95, meanOfSeries, type SeriesMean } from '../statistics/series-mean.ts'
import { type Trend, trendOf } from '../statistics/trend.ts'
import { wholePeriods } from './periods.ts'
import { remainingOf, resolutionOf, type Stretch } from './settling.ts'

export interface SteadyWindow {
  readonly fromS: number
  readonly toS: number
  readonly figures: Readings
  /** For each figure: its series, and what remained to be settled. */
  readonly details: Readonly<Partial<Record<FigureKind, SeriesMean & { readonly drift: number }>>>
}

/** Why a log has no steady stretch. */
export type Unsteady =
  /** Neither power nor die temperature is logged. */
  | { readonly reason: 'nothing-to-judge' }
  /** The load lasted for less than the window; the longest stretch in s. */
  | { readonly reason: 'too-short'; readonly longestS: number }
  /** It never stood still; what remained in the quietest window. */
  | { readonly reason: 'drifting'; readonly figure: FigureKind; readonly drift: number }
  /** Readings scatter too much to say. */
  | { readonly reason: 'too-noisy'; readonly figure: FigureKind; readonly uncertainty: number }

export interface SteadyResult {
  /** In the order of time; the longest, of some that are about as long the last, is what the run is compared with. */
  readonly windows: readonly SteadyWindow[]
  /** Only where there is no window. */
  readonly unsteady: Unsteady | undefined
  /** The length that a window had to have. */
  readonly windowS: number
}

export interface SteadyOptions {
  /** The bench's slowest time constant. */
  readonly timeConstantS: number
  /** Whether the run is one of work, or of the machine at rest. */
  readonly load: 'work' | 'idle'
}

const LEAST_WINDOW_S = 60
const LEAST_POINTS = 12
/** So many time constants behind the beginning of a window what remained of a warm-up is gone. */
const SETTLING = 2
/** A drift shows where it is more than so many of its standard uncertainties: many windows are tried, and chance has its share. */
const SHOWS = 3
const TEMPERATURE_LIMIT_K = 0.5
const POWER_LIMIT_SHARE = 0.005
const LEAST_POWER_LIMIT_W = 0.5
/** Below these spans from low to high there is no telling of load and rest: it is all one. */
const POWER_SPAN_SHARE = 0.35
const DIE_SPAN_K = 10

const guides = ['die', 'power'] as const

function usualStep({ fromS }: LogSeries): number {
  const steps = Array.from(
    { length: Math.max(0, fromS.length - 1) },
    (_, at) => (fromS[at + 1] as number) - (fromS[at] as number),
  )
  return upperMedianOf(steps) ?? 1
}

/** The level between rest and load; undefined where the log has only one of them. */
function levelOf(values: Float64Array, figure: (typeof guides)[number]): number | undefined {
  const sorted = values.filter(value => !Number.isNaN(value)).sort()
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number
  const [low, high] = [at(0.02), at(0.98)]
  const apart = figure === 'power' ? high - low > POWER_SPAN_SHARE * high : high - low > DIE_SPAN_K
  return apart ? (low + high) / 2 : undefined
}

/** Pieces of the log under the load, without gaps. */
function pieces(series: LogSeries, load: SteadyOptions['load'], step: number): readonly Stretch[] {
  const figure = series.figures.power === undefined ? 'die' : 'power'
  const guide = series.figures[figure]
  const level = guide && levelOf(guide, figure)
  const isUnder = (at: number): boolean => {
    const value = guide?.[at] ?? Number.NaN
    if (Number.isNaN(value) || level === undefined) return true
    return load === 'work' ? value >= level : value < level
  }
  const found: Stretch[] = []
  let from = -1
  const count = series.timeS.length
  for (let at = 0; at <= count; at++) {
    const inside = at < count && isUnder(at)
    const torn =
      at > 0 && at < count && (series.fromS[at] as number) - (series.toS[at - 1] as number) > GAP_FACTOR * step
    if (from >= 0 && (!inside || torn)) {
      found.push({ from, to: at })
      from = -1
    }
    if (inside && from < 0) from = at
  }
  return found
}

/** When the load of a log starts, on the log's own clock; the log's beginning where it shows no start. */
export function loadStartS(series: LogSeries, load: SteadyOptions['load']): number {
  const first = pieces(series, load, usualStep(series))[0]
  return series.fromS[first?.from ?? 0] ?? 0
}

function limitOf(figure: (typeof guides)[number], mean: number): number {
  return figure === 'die' ? TEMPERATURE_LIMIT_K : Math.max(LEAST_POWER_LIMIT_W, POWER_LIMIT_SHARE * Math.abs(mean))
}

/** How a window stands: steady, or by which figure it is not. */
type Verdict = 'steady' | Unsteady

type Trends = Readonly<Partial<Record<(typeof guides)[number], Trend>>>

function trendsOf({ figures, timeS }: LogSeries, { from, to }: Stretch): Trends {
  const found: Partial<Record<(typeof guides)[number], Trend>> = {}
  for (const figure of guides) {
    const values = figures[figure]
    const trend = values && trendOf(timeS, values, from, to)
    if (trend !== undefined) found[figure] = trend
  }
  return found
}

function judge(series: LogSeries, { from, to }: Stretch, trends: Trends, timeConstantS: number): Verdict {
  const reach = Math.max(timeConstantS, (series.toS[to - 1] as number) - (series.fromS[from] as number))
  for (const figure of guides) {
    const trend = trends[figure]
    if (trend === undefined) continue
    const drift = trend.slope * reach
    const uncertainty = trend.standardUncertainty * reach
    const limit = limitOf(figure, trend.mean)
    if (Math.abs(drift) > Math.max(limit, SHOWS * uncertainty)) return { reason: 'drifting', figure, drift }
    if (uncertainty > limit) return { reason: 'too-noisy', figure, uncertainty }
  }
  return 'steady'
}

/** Mean of a stretch and how many readings it has. */
function plainMean(values: Float64Array, { from, to }: Stretch): { readonly mean: number; readonly count: number } {
  let [sum, count] = [0, 0]
  for (let at = from; at < to; at++) {
    const value = values[at] as number
    if (Number.isNaN(value)) continue
    sum += value
    count++
  }
  return { mean: sum / count, count }
}

/**
 * Whether what stands before a window is of one level with it: a step at the edge hardly tilts a long window.
 * How far a short mean may be off by chance follows from the window's scatter: the few readings of its own know too little.
 */
function belongs(series: LogSeries, before: Stretch, window: Stretch, trends: Trends): boolean {
  return guides.every(figure => {
    const [values, trend] = [series.figures[figure], trends[figure]]
    if (values === undefined || trend === undefined) return true
    const [added, own] = [plainMean(values, before), plainMean(values, window)]
    if (added.count === 0 || own.count === 0) return true
    const ofMean = (count: number): number => Math.min(1, trend.correlationTime / count)
    const uncertainty = trend.sd * Math.sqrt(ofMean(added.count) + ofMean(own.count))
    return Math.abs(added.mean - own.mean) <= limitOf(figure, own.mean) + SHOWS * uncertainty
  })
}

const spanOf = ({ fromS, toS }: LogSeries, { from, to }: Stretch) => ({
  fromS: fromS[from] as number,
  toS: toS[to - 1] as number,
})

const lengthOf = ({ fromS, toS }: Pick<SteadyWindow, 'fromS' | 'toS'>): number => toS - fromS

/** A window in the making: what is known of its piece. */
interface Candidate extends Stretch {
  readonly piece: Stretch
  readonly windowS: number
}

/** As long as the log is at the window's power, but for the first time constant of it. */
function atOnePower(series: LogSeries, { piece, from, to, windowS }: Candidate, timeConstantS: number): Stretch {
  const power = series.figures.power
  const trend = power && trendOf(series.timeS, power, from, to)
  const isAlike = (part: Stretch): boolean => {
    if (power === undefined || trend === undefined) return true
    const added = plainMean(power, part)
    const uncertainty = trend.sd * Math.sqrt(Math.min(1, trend.correlationTime / added.count))
    return !(Math.abs(added.mean - trend.mean) > limitOf('power', trend.mean) + SHOWS * uncertainty)
  }
  const by = Math.max(1, Math.round(((to - from) * windowS) / (4 * lengthOf(spanOf(series, { from, to })) || 1)))
  let start = from
  while (start > piece.from && isAlike({ from: Math.max(piece.from, start - by), to: start }))
    start = Math.max(piece.from, start - by)
  let end = to
  while (end < piece.to && isAlike({ from: end, to: Math.min(piece.to, end + by) })) end = Math.min(piece.to, end + by)
  const settled = (series.fromS[start] as number) + timeConstantS
  while (start < from && (series.fromS[start] as number) < settled) start++
  return { from: start, to: end }
}

/** Few independent readings know little of their own spread: half the 95 % interval, as if there were many. */
function ownOf(mean: SeriesMean): number {
  const half = halfWidth95(mean)
  return Number.isFinite(half) ? half / 1.96 : mean.sd
}

interface Found {
  readonly window: SteadyWindow
  /** Where it had still to go. */
  readonly unsettled: Unsteady | undefined
}

/** Readings that move across this share of the step in which they are logged average its error out. */
const MOVES = 0.58

function windowOf(series: LogSeries, candidate: Candidate, timeConstantS: number): Found {
  const { from, to } = candidate
  const figures: Partial<Record<FigureKind, { value: number; standardUncertainty: number }>> = {}
  const details: Partial<Record<FigureKind, SeriesMean & { drift: number }>> = {}
  const { fromS, toS } = spanOf(series, candidate)
  const stretch = atOnePower(series, candidate, timeConstantS)
  const guide = series.figures.die === undefined ? 'power' : 'die'
  let unsettled: Unsteady | undefined
  for (const kind of figureKinds) {
    const all = series.figures[kind]
    const values = all?.subarray(from, to).filter(value => !Number.isNaN(value))
    const trend = all && trendOf(series.timeS, all, from, to)
    if (all === undefined || values === undefined || values.length < LEAST_POINTS / 2 || trend === undefined) continue
    const mean = meanOfSeries(values)
    const reach = Math.max(timeConstantS, toS - fromS)
    const drift = trend.slope * reach
    const shows = Math.abs(drift) > SHOWS * trend.standardUncertainty * reach
    const isHeat = kind !== 'clock' && kind !== 'voltage'
    const remaining = isHeat ? remainingOf(series.timeS, all, stretch, candidate, timeConstantS) : undefined
    // The power follows the die at a distance, and shows less of it.
    const left = remaining?.likeliest ?? 0
    if (kind === guide && Math.abs(left) > limitOf(kind, mean.mean))
      unsettled = { reason: 'drifting', figure: kind, drift: left }
    // A clock and a voltage go from one value to another by themselves.
    const step = isHeat ? resolutionOf(all, series.rowsPerPoint) : 0
    const rounding = mean.sd < (MOVES * step) / Math.sqrt(series.rowsPerPoint) ? step / Math.sqrt(12) : 0
    // What was still to go lies to one side, and the mean is not corrected for it: it counts in full.
    const toGo = Math.hypot(shows ? drift / Math.sqrt(3) : 0, remaining?.most ?? 0)
    figures[kind] = { value: mean.mean, standardUncertainty: Math.hypot(ownOf(mean), toGo, rounding) }
    details[kind] = { ...mean, drift }
  }
  return { window: { fromS, toS, figures, details }, unsettled }
}

/** Whether two windows are at one power, and whether the die is at one temperature in them. */
function agree(a: SteadyWindow, b: SteadyWindow, figure: (typeof guides)[number]): boolean {
  const [one, other] = [a.details[figure], b.details[figure]]
  if (one === undefined || other === undefined) return true
  const uncertainty = Math.hypot(one.standardUncertainty, other.standardUncertainty)
  return Math.abs(one.mean - other.mean) <= limitOf(figure, other.mean) + SHOWS * uncertainty
}

/** The windows of a piece that are settled, and that the last one at their power confirms; or what is wrong. */
function borneOut(found: readonly Found[]): { readonly kept: SteadyWindow[]; readonly faults: readonly Unsteady[] } {
  const kept: SteadyWindow[] = []
  const faults: Unsteady[] = []
  for (let rest = found; rest.length > 0; ) {
    const { window: last, unsettled } = rest.at(-1) as Found
    const level = rest.filter(({ window }) => agree(window, last, 'power'))
    const odd = level.filter(({ window }) => !agree(window, last, 'die')).map(({ window }) => window)
    const drift = (last.figures.die?.value ?? 0) - (odd[0]?.figures.die?.value ?? 0)
    if (unsettled !== undefined) faults.push(unsettled)
    else if (odd.reduce((sum, one) => sum + lengthOf(one), 0) > lengthOf(last))
      faults.push({ reason: 'drifting', figure: 'die', drift })
    else kept.push(...level.flatMap(one => (one.unsettled || odd.includes(one.window) ? [] : one.window)))
    rest = rest.filter(one => !level.includes(one))
  }
  return { kept, faults }
}

/** The quieter of two unsteady verdicts, so that the best window says what was still wrong. */
function milder(a: Unsteady | undefined, b: Unsteady): Unsteady {
  if (a === undefined) return b
  if (a.reason === 'drifting' && b.reason === 'drifting') return Math.abs(b.drift) < Math.abs(a.drift) ? b : a
  return b.reason === 'too-noisy' ? b : a
}

/** Finds the steady stretches of a log: of its readings, or of means over whole periods where a load swings evenly. */
export function findSteady(series: LogSeries, options: SteadyOptions): SteadyResult {
  const found = findIn(series, options, LEAST_POINTS)
  if (found.windows.length > 0) return found
  for (const piece of pieces(series, options.load, usualStep(series))) {
    const means = wholePeriods(series, piece)
    const own = means && findIn(means, options, LEAST_POINTS / 2)
    if (own !== undefined && own.windows.length > 0) return own
  }
  return found
}

function findIn(series: LogSeries, options: SteadyOptions, leastPoints: number): SteadyResult {
  const { timeConstantS } = options
  const step = usualStep(series)
  const windowS = Math.max(LEAST_WINDOW_S, timeConstantS, leastPoints * step)
  if (series.figures.die === undefined && series.figures.power === undefined) {
    return { windows: [], unsteady: { reason: 'nothing-to-judge' }, windowS }
  }
  const windows: SteadyWindow[] = []
  let [unsteady, unsettled]: (Unsteady | undefined)[] = []
  let longestS = 0
  /** The first point of the window that ends before `to`; -1 where the piece is too short for one. */
  const beginning = (piece: Stretch, to: number): number => {
    const wanted = (series.toS[to - 1] as number) - windowS
    if ((series.fromS[piece.from] as number) > wanted + step) return -1
    let at = piece.from
    while (at + 1 < to && (series.fromS[at + 1] as number) <= wanted + step / 2) at++
    return at
  }
  /** One time constant behind a window's beginning, where that leaves long enough a window. */
  const settledFrom = (piece: Stretch, from: number, to: number): number => {
    const latest = beginning(piece, to)
    const wanted = (series.fromS[from] as number) + SETTLING * timeConstantS
    let found = from
    while (found < latest && (series.fromS[found] as number) < wanted) found++
    return found
  }
  const back = (piece: Stretch, at: number, byS: number = windowS / 4): number => {
    const wanted = (series.fromS[at] as number) - byS
    let found = at
    while (found > piece.from && (series.fromS[found] as number) > wanted) found--
    return found
  }
  for (const piece of pieces(series, options.load, step)) {
    const own: Found[] = []
    longestS = Math.max(longestS, (series.toS[piece.to - 1] as number) - (series.fromS[piece.from] as number))
    let to = piece.to
    while (to > piece.from) {
      let from = beginning(piece, to)
      if (from < 0) break
      let trends = trendsOf(series, { from, to })
      let verdict = judge(series, { from, to }, trends, timeConstantS)
      // What scatters too much in a short stretch may be clear from a longer one.
      while (verdict !== 'steady' && verdict.reason === 'too-noisy' && from > piece.from) {
        from = back(piece, from, ((series.toS[to - 1] as number) - (series.fromS[from] as number)) / 3)
        trends = trendsOf(series, { from, to })
        verdict = judge(series, { from, to }, trends, timeConstantS)
      }
      const tail = { from: Math.max(from, back(piece, to - 1)), to }
      const isLevel = verdict === 'steady' && belongs(series, tail, { from, to: tail.from }, trends)
      if (verdict !== 'steady' || !isLevel) {
        if (verdict !== 'steady') unsteady = milder(unsteady, verdict)
        const next = back(piece, to - 1)
        to = next < to ? next : to - 1
        continue
      }
      // One step that fails may fail by chance: so far as one window's length, longer ones are tried as well.
      for (let wider = back(piece, from); ; ) {
        if (belongs(series, { from: wider, to: from }, { from, to }, trends)) {
          const wideTrends = trendsOf(series, { from: wider, to })
          const wide = judge(series, { from: wider, to }, wideTrends, timeConstantS)
          if (wide === 'steady' || wide.reason === 'too-noisy') {
            from = wider
            trends = wideTrends
          }
        }
        const next = back(piece, wider)
        if (next === wider || (series.fromS[from] as number) - (series.fromS[next] as number) > windowS) break
        wider = next
      }
      own.unshift(windowOf(series, { from: settledFrom(piece, from, to), to, piece, windowS }, timeConstantS))
      to = from
    }
    const { kept, faults } = borneOut(own)
    windows.push(...kept)
    for (const one of faults) unsettled = milder(unsettled, one)
  }
  windows.sort((a, b) => a.fromS - b.fromS)
  const why: Unsteady = unsettled ?? unsteady ?? { reason: 'too-short', longestS }
  return { windows, unsteady: windows.length > 0 ? undefined : why, windowS }
}

/** The longest of some windows; of those that are about as long the last, which is settled the most. */
export function longest(windows: readonly SteadyWindow[]): SteadyWindow | undefined {
  const most = Math.max(...windows.map(lengthOf))
  return windows.toSorted((a, b) => a.fromS - b.fromS).findLast(one => lengthOf(one) >= 0.8 * most)
}
