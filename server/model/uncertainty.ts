/**
 * Uncertainty of the predicted figures from that of the bench's constants (model section 11): first-order propagation
 * (JCGM 100:2008, section 5) where the figures follow straight lines, and seeded draws (JCGM 101:2008) where a level of
 * the ladder changes or a figure bends.
 */

import { normalShareBelow, seededUniform, stratifiedNormal } from './random.ts'
import type { Settled } from './types.ts'

/** A constant's standard uncertainty, in the order of the shifts handed to the model. */
export interface Spread {
  /** Standard uncertainties of the constants. */
  readonly standard: readonly number[]
  /** Correlation coefficients, row by row; the constants are independent without it. */
  readonly correlation?: readonly (readonly number[])[]
}

/** What the model gives when each constant is moved by its shift; null where nothing can be settled. */
export type Shifted = (shifts: readonly number[]) => Settled | null

/** The figures that carry an uncertainty. */
const carried = [
  'clockMhz',
  'voltageV',
  'powerW',
  'currentA',
  'dieC',
  'plateC',
  'coolantC',
  'driveA',
  'driveW',
  'driveV',
  'marginW',
] as const
type Carried = (typeof carried)[number]

/** Those whose bend decides for draws: what only stands beside a measurement is described well enough. */
const judged: readonly Carried[] = carried.filter(key => key !== 'driveA' && key !== 'driveV')

export type Figures = Pick<Settled, Carried | 'wetC'>

/** A figure read off a settled result; null where it does not exist, as on runaway. */
export type FigureOf = (figures: Figures) => number | null

export interface Interval {
  /** The figure at the constants as stated. */
  readonly value: number | null
  /** Null where a draw has no balance, and where the figure does not exist. */
  readonly standardUncertainty: number | null
  /** Ends of the 95 % interval; null where the end lies among draws without a balance. */
  readonly low: number | null
  readonly high: number | null
}

/**
 * Why draws decided: no balance at the stated constants or near them, a level of the ladder that changes within three
 * standard uncertainties, or a figure that bends.
 */
export type DrawnFor = 'no-balance' | 'level' | 'bend'

export interface Propagation {
  /** Undefined where first order describes every figure. */
  readonly drawnFor: DrawnFor | undefined
  /**
   * @param unbalanced on which side of every number a draw without a balance counts: above for what heats, the default;
   * below for a clock or a margin
   */
  interval(figure: FigureOf, unbalanced?: 'above' | 'below'): Interval
  /** The probability that the settled figure passes; a draw without the figure counts as failed. */
  probability(figure: FigureOf, side: '>=' | '<=', limit: number): number
}

/** Coverage factor of a 95 % interval of a normal distribution. */
const COVERAGE = 1.959963984540054
/** Share of the draws beyond each end of a 95 % interval. */
const BEYOND = 0.025
export const DRAWS = 2000
const SEED = 20_240_229
/** So many draws a slice: a few milliseconds. */
const SLICE = 8

/** Share of its standard uncertainty by which a figure may bend over two standard uncertainties of a constant. */
const STRAIGHT = 0.1
/** A bend below this share of the figure, or of one unit of it, is the solver's own error. */
const RESOLVED = 1e-6

const shape = (settled: Settled | null): string =>
  settled === null ? 'none' : `${settled.state} ${settled.limiter} ${settled.ratioLow} ${settled.ratioHigh}`

/** The model's answers with constants moved so many standard uncertainties one way and the other. */
interface Pair {
  readonly by: number
  readonly above: Settled | null
  readonly below: Settled | null
}

interface Looks {
  readonly nominal: Settled
  /** For each constant the pairs at one, two and three standard uncertainties. */
  readonly along: readonly (readonly Pair[])[]
}

const distances = [1, 2, 3]

/** Slope of a figure along each constant, for one standard uncertainty of it; NaN where a side has no figure. */
function slopesOf({ along }: Looks, figure: FigureOf): number[] {
  return along.map(([pair]) => {
    const high = pair?.above ? figure(pair.above) : null
    const low = pair?.below ? figure(pair.below) : null
    return high === null || low === null ? Number.NaN : (high - low) / 2
  })
}

/** JCGM 100:2008, equation 16, of slopes that are already times their uncertainties. */
function uncertaintyOf(slopes: readonly number[], { correlation }: Spread): number {
  let sum = 0
  slopes.forEach((slope, i) => {
    sum += slope * slope
    for (let j = 0; j < i; j++) sum += 2 * (correlation?.[i]?.[j] ?? 0) * slope * (slopes[j] as number)
  })
  return Math.sqrt(Math.max(0, sum))
}

/** Whether a figure leaves its straight line between the two sides of a pair. */
function bends(key: Carried, nominal: number, { by, above, below }: Pair, uncertainty: number): boolean {
  const [high, low] = [above?.[key] ?? null, below?.[key] ?? null]
  if (high === null || low === null) return true
  const straight = STRAIGHT * (by / 2) ** 2 * uncertainty
  return Math.abs(high + low - 2 * nominal) > Math.max(straight, RESOLVED * Math.max(1, Math.abs(nominal)))
}

const figureOf =
  (key: Carried): FigureOf =>
  figures =>
    figures[key]

/** Three standard uncertainties of a figure away, where its constants most likely take it; none where none moves it. */
function alongSteepest(model: Shifted, looks: Looks, spread: Spread, key: Carried): readonly Pair[] {
  const slopes = slopesOf(looks, figureOf(key))
  const size = uncertaintyOf(slopes, spread)
  if (!(size > 0)) return []
  // Where constants are correlated the likeliest way to a far value moves the others along.
  const together = (i: number, j: number): number => (i === j ? 1 : (spread.correlation?.[i]?.[j] ?? 0))
  const towards = slopes.map((_, i) => slopes.reduce((sum, slope, j) => sum + together(i, j) * slope, 0))
  const moved = (by: number): Settled | null =>
    model(spread.standard.map((sd, at) => (by * sd * (towards[at] as number)) / size))
  return [{ by: 3, above: moved(3), below: moved(-3) }]
}

/** Why first order does not describe the figures; undefined where it does. */
function whyNotStraight(model: Shifted, looks: Looks, spread: Spread): DrawnFor | undefined {
  const { nominal, along } = looks
  const usual = shape(nominal)
  const steepest = (['dieC', 'clockMhz', 'marginW'] as const).flatMap(key => alongSteepest(model, looks, spread, key))
  const pairs = [...along.flat(), ...steepest]
  const settled = pairs.flatMap(({ above, below }) => [above, below])
  if (settled.some(one => one === null || one.state === 'runaway')) return 'no-balance'
  if (settled.some(one => shape(one) !== usual)) return 'level'
  const isBent = judged.some(key => {
    const value = nominal[key]
    if (value === null) return false
    const uncertainty = uncertaintyOf(slopesOf(looks, figureOf(key)), spread)
    return pairs.some(pair => pair.by > 1 && bends(key, value, pair, uncertainty))
  })
  return isBent ? 'bend' : undefined
}

/**
 * Carries the constants' uncertainty through the model, a few milliseconds at a time. The model is called six times for
 * each constant, and `DRAWS` times more where a level changes or a figure bends within that distance, along any constant
 * or along the direction in which all together move die temperature, clock or margin most.
 */
export function* propagateInSlices(model: Shifted, spread: Spread): Generator<undefined, Propagation> {
  const { standard } = spread
  const nominal = model(standard.map(() => 0))
  yield
  if (nominal === null || nominal.state === 'runaway') return yield* drawn(nominal, model, spread, 'no-balance')
  const along: Pair[][] = []
  for (const index of standard.keys()) {
    const moved = (by: number): Settled | null => model(standard.map((sd, at) => (at === index ? by * sd : 0)))
    along.push(distances.map(by => ({ by, above: moved(by), below: moved(-by) })))
    yield
  }
  const looks = { nominal, along }
  const drawnFor = whyNotStraight(model, looks, spread)
  yield
  return drawnFor === undefined ? firstOrder(looks, spread) : yield* drawn(nominal, model, spread, drawnFor)
}

function firstOrder(looks: Looks, spread: Spread): Propagation {
  const { nominal } = looks
  const spreadOf = (figure: FigureOf): number => uncertaintyOf(slopesOf(looks, figure), spread)
  return {
    drawnFor: undefined,
    interval: figure => {
      const value = figure(nominal)
      if (value === null) return { value, standardUncertainty: null, low: null, high: null }
      const u = spreadOf(figure)
      return { value, standardUncertainty: u, low: value - COVERAGE * u, high: value + COVERAGE * u }
    },
    probability: (figure, side, limit) => {
      const value = figure(nominal)
      if (value === null) return 0
      const gap = side === '>=' ? value - limit : limit - value
      const u = spreadOf(figure)
      return u > 0 ? normalShareBelow(gap / u) : gap >= 0 ? 1 : 0
    },
  }
}

/** The lower triangular factor of a correlation matrix; what is not positive definite is taken as near to it as it goes. */
function cholesky(correlation: readonly (readonly number[])[]): number[][] {
  const n = correlation.length
  const factor = Array.from({ length: n }, () => new Array<number>(n).fill(0))
  for (let row = 0; row < n; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = correlation[row]?.[column] ?? 0
      for (let k = 0; k < column; k++) sum -= (factor[row]?.[k] ?? 0) * (factor[column]?.[k] ?? 0)
      const own = factor[row] as number[]
      own[column] = row === column ? Math.sqrt(Math.max(0, sum)) : sum / ((factor[column]?.[column] ?? 0) || 1)
    }
  }
  return factor
}

/** The shifts of every draw, one function of the draw's number. */
function shiftsOf({ standard, correlation }: Spread): (draw: number) => number[] {
  const uniform = seededUniform(SEED)
  const rows = standard.map(() => stratifiedNormal(DRAWS, uniform))
  const factor = correlation === undefined ? undefined : cholesky(correlation)
  const at = (row: number, draw: number): number => rows[row]?.[draw] ?? 0
  return draw =>
    standard.map((sd, row) => {
      if (factor === undefined) return sd * at(row, draw)
      let sum = 0
      for (let column = 0; column <= row; column++) sum += (factor[row]?.[column] ?? 0) * at(column, draw)
      return sd * sum
    })
}

function* drawn(
  nominal: Settled | null,
  model: Shifted,
  spread: Spread,
  drawnFor: DrawnFor,
): Generator<undefined, Propagation> {
  const shifts = shiftsOf(spread)
  const kept = Object.fromEntries(carried.map(key => [key, new Float64Array(DRAWS)])) as Record<Carried, Float64Array>
  for (let draw = 0; draw < DRAWS; draw++) {
    const settled = model(shifts(draw))
    for (const key of carried) kept[key][draw] = settled?.[key] ?? Number.NaN
    if (draw % SLICE === 0) yield
  }
  /** The figure of every draw; NaN without one. */
  const valuesOf = (figure: FigureOf): Float64Array => {
    const figures = { wetC: nominal?.wetC ?? 0 } as { -readonly [Key in keyof Figures]: Figures[Key] }
    return Float64Array.from({ length: DRAWS }, (_, draw) => {
      for (const key of carried) {
        const value = kept[key][draw] as number
        figures[key] = Number.isNaN(value) ? null : value
      }
      return figure(figures) ?? Number.NaN
    })
  }
  return {
    drawnFor,
    interval: (figure, unbalanced = 'above') => {
      const value = nominal === null ? null : figure(nominal)
      return intervalOf(value, valuesOf(figure), unbalanced)
    },
    probability: (figure, side, limit) => {
      // A comparison with NaN is false: without a balance nothing passes.
      const passed = valuesOf(figure).filter(one => (side === '>=' ? one >= limit : one <= limit))
      return passed.length / DRAWS
    },
  }
}

/** JCGM 101:2008, section 7.7: the probabilistically symmetric interval of the sorted draws. */
function intervalOf(value: number | null, values: Float64Array, unbalanced: 'above' | 'below'): Interval {
  const finite = values.filter(one => !Number.isNaN(one)).sort()
  const lost = values.length - finite.length
  const at = (index: number): number | null => finite[unbalanced === 'above' ? index : index - lost] ?? null
  const beyond = Math.ceil(BEYOND * values.length)
  const ends = { low: at(beyond - 1), high: at(values.length - beyond) }
  if (lost > 0) return { value, standardUncertainty: null, ...ends }
  const mean = finite.reduce((sum, one) => sum + one, 0) / finite.length
  const variance = finite.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (finite.length - 1)
  return { value, standardUncertainty: Math.sqrt(variance), ...ends }
}
