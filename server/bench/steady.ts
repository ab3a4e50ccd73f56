import { GAP_FACTOR } from './log-clock.ts'
import type { LogSeries } from './log-series.ts'
import { type FigureKind, figureKinds, type Readings } from './runs.ts'
import { meanOfSeries, type SeriesMean } from './series-mean.ts'
import { type Trend, trendOf } from './trend.ts'

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
 * The mean's uncertainty knows how readings hang together, and has in it a drift that shows, as a rectangle of that
 * half-width (JCGM 100:2008, 4.3.7).
 */

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
  /** Readings scatter so much that it cannot be told. */
  | { readonly reason: 'too-noisy'; readonly figure: FigureKind; readonly uncertainty: number }

export interface SteadyResult {
  /** In the order of time; the longest is what the run is held against. */
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

export const LEAST_WINDOW_S = 60
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

/** Points from `from` up to but not with `to`. */
interface Stretch {
  readonly from: number
  readonly to: number
}

const guides = ['die', 'power'] as const

function usualStep({ fromS }: LogSeries): number {
  const steps = Array.from(
    { length: Math.max(0, fromS.length - 1) },
    (_, at) => (fromS[at + 1] as number) - (fromS[at] as number),
  )
  return steps.toSorted((a, b) => a - b)[steps.length >> 1] ?? 1
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
 * How far a short mean may be off by chance is told from the window's scatter: the few readings of its own know too little.
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

function windowOf(series: LogSeries, { from, to }: Stretch, timeConstantS: number): SteadyWindow {
  const figures: Partial<Record<FigureKind, { value: number; standardUncertainty: number }>> = {}
  const details: Partial<Record<FigureKind, SeriesMean & { drift: number }>> = {}
  const [fromS, toS] = [series.fromS[from] as number, series.toS[to - 1] as number]
  for (const kind of figureKinds) {
    const values = series.figures[kind]?.subarray(from, to).filter(value => !Number.isNaN(value))
    const trend = series.figures[kind] && trendOf(series.timeS, series.figures[kind], from, to)
    if (values === undefined || values.length < LEAST_POINTS / 2 || trend === undefined) continue
    const mean = meanOfSeries(values)
    const reach = Math.max(timeConstantS, toS - fromS)
    const drift = trend.slope * reach
    const shows = Math.abs(drift) > SHOWS * trend.standardUncertainty * reach
    const own = mean.standardUncertainty
    figures[kind] = {
      value: mean.mean,
      standardUncertainty: shows ? Math.hypot(own, drift / Math.sqrt(3)) : own,
    }
    details[kind] = { ...mean, drift }
  }
  return { fromS, toS, figures, details }
}

/** The quieter of two unsteady verdicts, so that the best window says what was still amiss. */
function milder(a: Unsteady | undefined, b: Unsteady): Unsteady {
  if (a === undefined) return b
  if (a.reason === 'drifting' && b.reason === 'drifting') return Math.abs(b.drift) < Math.abs(a.drift) ? b : a
  return b.reason === 'too-noisy' ? b : a
}

/** Finds the steady stretches of a log. */
export function findSteady(series: LogSeries, options: SteadyOptions): SteadyResult {
  const { timeConstantS } = options
  const step = usualStep(series)
  const windowS = Math.max(LEAST_WINDOW_S, timeConstantS, LEAST_POINTS * step)
  if (series.figures.die === undefined && series.figures.power === undefined) {
    return { windows: [], unsteady: { reason: 'nothing-to-judge' }, windowS }
  }
  const windows: SteadyWindow[] = []
  let unsteady: Unsteady | undefined
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
    longestS = Math.max(longestS, (series.toS[piece.to - 1] as number) - (series.fromS[piece.from] as number))
    let to = piece.to
    while (to > piece.from) {
      let from = beginning(piece, to)
      if (from < 0) break
      let trends = trendsOf(series, { from, to })
      let verdict = judge(series, { from, to }, trends, timeConstantS)
      // What scatters too much to tell may be told from a longer stretch.
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
      windows.unshift(windowOf(series, { from: settledFrom(piece, from, to), to }, timeConstantS))
      to = from
    }
  }
  windows.sort((a, b) => a.fromS - b.fromS)
  const why: Unsteady = unsteady ?? { reason: 'too-short', longestS }
  return { windows, unsteady: windows.length > 0 ? undefined : why, windowS }
}

/** The longest of some windows. */
export function longest(windows: readonly SteadyWindow[]): SteadyWindow | undefined {
  return windows.toSorted((a, b) => b.toS - b.fromS - (a.toS - a.fromS))[0]
}
