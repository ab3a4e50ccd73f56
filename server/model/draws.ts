/**
 * Figures of a bench whose constants are drawn at random (JCGM 101:2008), and what is asked of uncertain figures, however
 * they were found (model section 11).
 */

import { seededUniform, stratifiedNormal } from './random.ts'
import { finished } from './slices.ts'
import type { Settled, SettledGroup } from './types.ts'

/** A constant's standard uncertainty, in the order of the shifts handed to the model. */
export interface Spread {
  /** Standard uncertainties of the constants. */
  readonly standard: readonly number[]
  /** Correlation coefficients, row by row; the constants are independent without it. */
  readonly correlation?: readonly (readonly number[])[]
}

/** The figures that carry an uncertainty. */
export const carried = [
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
export type Carried = (typeof carried)[number]

/** Those of one group of cores. */
export const carriedOfGroup = ['clockMhz', 'voltageV', 'currentA', 'coreC'] as const
type CarriedGroup = Pick<SettledGroup, 'group' | (typeof carriedOfGroup)[number]>

export type Figures = Pick<Settled, Carried | 'wetC'> & { readonly groups?: readonly CarriedGroup[] }

/** What is looked at of a settled load. */
export type Looked = Omit<Figures, 'groups'> & Pick<Settled, 'state' | 'limiter' | 'ratioLow' | 'ratioHigh' | 'groups'>

/** What the model gives when each constant is moved by its shift; null where nothing can be settled. */
export type Shifted<Of = Looked> = (shifts: readonly number[]) => Of | null

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
  /** Draws the margins where draws decide and were made without them; else the first figure that reads one does. */
  marginsInSlices(): Generator<undefined, void>
  /**
   * @param unbalanced on which side of every number a draw without a balance counts: above for what heats, the default;
   * below for a clock or a margin
   */
  interval(figure: FigureOf, unbalanced?: 'above' | 'below'): Interval
  /** The probability that the settled figure passes; a draw without the figure counts as failed. */
  probability(figure: FigureOf, side: '>=' | '<=', limit: number): number
}

/** Share of the draws beyond each end of a 95 % interval. */
const BEYOND = 0.025
export const DRAWS = 2000
const SEED = 20_240_229
/** So many draws a slice: a few milliseconds. */
const SLICE = 8

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

/** The shifts of every one of `DRAWS` draws, one function of the draw's number. */
export function shiftsOf({ standard, correlation }: Spread): (draw: number) => number[] {
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

interface Models {
  readonly model: Shifted
  /** The same without the margin, which takes about as long to find as all the rest. */
  readonly withoutMargin: Shifted<Omit<Looked, 'marginW'>> | undefined
}

/** Settles every draw. */
function* eachDraw<Of>(
  model: Shifted<Of>,
  shifts: (draw: number) => number[],
  keep: (draw: number, settled: Of | null) => void,
): Generator<undefined, void> {
  for (let draw = 0; draw < DRAWS; draw++) {
    keep(draw, model(shifts(draw)))
    if (draw % SLICE === 0) yield
  }
}

/** Settles all draws, a few milliseconds at a time. */
export function* drawnInSlices(
  nominal: Looked | null,
  { model, withoutMargin }: Models,
  spread: Spread,
  drawnFor: DrawnFor,
): Generator<undefined, Propagation> {
  const shifts = shiftsOf(spread)
  const kept = Object.fromEntries(carried.map(key => [key, new Float64Array(DRAWS)])) as Record<Carried, Float64Array>
  const others = carried.filter(key => key !== 'marginW')
  const groups = groupsOfDraws(nominal)
  let hasMargins = withoutMargin === undefined
  yield* eachDraw(withoutMargin ?? model, shifts, (draw, settled) => {
    for (const key of others) kept[key][draw] = settled?.[key] ?? Number.NaN
    groups?.keep(draw, settled)
    if (hasMargins) kept.marginW[draw] = (settled as Looked | null)?.marginW ?? Number.NaN
  })
  function* marginsInSlices(): Generator<undefined, void> {
    if (hasMargins) return
    const margins = new Float64Array(DRAWS)
    yield* eachDraw(model, shifts, (draw, settled) => {
      margins[draw] = settled?.marginW ?? Number.NaN
    })
    kept.marginW = margins
    hasMargins = true
  }
  const at = (key: Carried, draw: number): number | null => {
    const value = kept[key][draw] as number
    return Number.isNaN(value) ? null : value
  }
  /** The figure of every draw; NaN without one. */
  const valuesOf = (figure: FigureOf): Float64Array => {
    let draw = 0
    const figures = { wetC: nominal?.wetC ?? 0 } as { -readonly [Key in keyof Figures]: Figures[Key] }
    if (groups !== undefined) figures.groups = groups.figures
    Object.defineProperty(figures, 'marginW', {
      enumerable: true,
      get: () => {
        if (!hasMargins) finished(marginsInSlices())
        return at('marginW', draw)
      },
    })
    return Float64Array.from({ length: DRAWS }, (_, index) => {
      draw = index
      for (const key of others) figures[key] = at(key, draw)
      groups?.take(draw)
      return figure(figures) ?? Number.NaN
    })
  }
  return {
    drawnFor,
    marginsInSlices,
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

/** The figures of each group in every draw; undefined where all cores are alike. */
function groupsOfDraws(nominal: Looked | null) {
  const names = nominal?.groups?.map(({ group }) => group)
  if (names === undefined) return undefined
  const width = carriedOfGroup.length
  const kept = names.map(() => new Float64Array(DRAWS * width))
  const none = { clockMhz: null, voltageV: null, currentA: null, coreC: null }
  const figures = names.map((group): { -readonly [Key in keyof CarriedGroup]: CarriedGroup[Key] } => ({
    group,
    ...none,
  }))
  return {
    /** Those of the draw that was taken last. */
    figures,
    keep: (draw: number, settled: Pick<Looked, 'groups'> | null): void => {
      kept.forEach((own, index) => {
        carriedOfGroup.forEach((key, column) => {
          own[draw * width + column] = settled?.groups?.[index]?.[key] ?? Number.NaN
        })
      })
    },
    take: (draw: number): void => {
      figures.forEach((own, index) => {
        carriedOfGroup.forEach((key, column) => {
          const value = kept[index]?.[draw * width + column] as number
          own[key] = Number.isNaN(value) ? null : value
        })
      })
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
