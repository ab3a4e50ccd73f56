/**
 * Uncertainty of the predicted figures from that of the bench's constants (model section 11): first-order propagation
 * (JCGM 100:2008, section 5) where the figures follow straight lines, and seeded draws (JCGM 101:2008) where a level of
 * the ladder changes or a figure bends.
 */

import {
  type Carried,
  carried,
  carriedOfGroup,
  type DrawnFor,
  drawnInSlices,
  type FigureOf,
  type Looked,
  type Propagation,
  type Shifted,
  type Spread,
} from './draws.ts'
import { normalShareBelow } from './random.ts'

/** Those whose bend decides for draws: what only stands beside a measurement is described well enough. */
const judged: readonly Carried[] = carried.filter(key => key !== 'driveA' && key !== 'driveV')

/** Coverage factor of a 95 % interval of a normal distribution. */
export const COVERAGE = 1.959963984540054
/** Share of its standard uncertainty by which a figure may bend over two standard uncertainties of a constant. */
const STRAIGHT = 0.1
/** A bend below this share of the figure, or of one unit of it, is the solver's own error. */
const RESOLVED = 1e-6

function shape(settled: Looked | null): string {
  if (settled === null) return 'none'
  const { state, limiter, ratioLow, ratioHigh, groups = [] } = settled
  const ofGroups = groups.map(one => ` ${one.ratioLow} ${one.ratioHigh}`).join('')
  return `${state} ${limiter} ${ratioLow} ${ratioHigh}${ofGroups}`
}

/** The model's answers with constants moved so many standard uncertainties one way and the other. */
interface Pair {
  readonly by: number
  readonly above: Looked | null
  readonly below: Looked | null
}

interface Looks {
  readonly nominal: Looked
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
function bends(figure: FigureOf, nominal: number, { by, above, below }: Pair, uncertainty: number): boolean {
  const [high, low] = [above && figure(above), below && figure(below)]
  if (high === null || low === null) return true
  const straight = STRAIGHT * (by / 2) ** 2 * uncertainty
  return Math.abs(high + low - 2 * nominal) > Math.max(straight, RESOLVED * Math.max(1, Math.abs(nominal)))
}

const figureOf =
  (key: Carried): FigureOf =>
  figures =>
    figures[key]

/** What is carried of each group of cores; none where all are alike. */
function figuresOfGroups({ groups = [] }: Looked): readonly FigureOf[] {
  return groups.flatMap((_, index) =>
    carriedOfGroup.map(
      (key): FigureOf =>
        figures =>
          figures.groups?.[index]?.[key] ?? null,
    ),
  )
}

/** Three standard uncertainties of a figure away, where its constants most likely take it; none where none moves it. */
function alongSteepest(model: Shifted, looks: Looks, spread: Spread, key: Carried): readonly Pair[] {
  const slopes = slopesOf(looks, figureOf(key))
  const size = uncertaintyOf(slopes, spread)
  if (!(size > 0)) return []
  // Where constants are correlated the likeliest way to a far value moves the others along.
  const together = (i: number, j: number): number => (i === j ? 1 : (spread.correlation?.[i]?.[j] ?? 0))
  const towards = slopes.map((_, i) => slopes.reduce((sum, slope, j) => sum + together(i, j) * slope, 0))
  const moved = (by: number): Looked | null =>
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
  const isBent = [...judged.map(figureOf), ...figuresOfGroups(nominal)].some(figure => {
    const value = figure(nominal)
    if (value === null) return false
    const uncertainty = uncertaintyOf(slopesOf(looks, figure), spread)
    return pairs.some(pair => pair.by > 1 && bends(figure, value, pair, uncertainty))
  })
  return isBent ? 'bend' : undefined
}

/**
 * Carries the constants' uncertainty through the model, a few milliseconds at a time. The model is called six times for
 * each constant, and `DRAWS` times more where a level changes or a figure bends within that distance, along any constant
 * or along the direction in which all together move die temperature, clock or margin most.
 *
 * @param withoutMargin the same model without the margin, which takes about as long to find as all the rest: draws are
 * made by it, and margins only where one is read
 */
export function* propagateInSlices(
  model: Shifted,
  spread: Spread,
  withoutMargin?: Shifted<Omit<Looked, 'marginW'>>,
): Generator<undefined, Propagation> {
  const { standard } = spread
  const nominal = model(standard.map(() => 0))
  yield
  const drawn = (drawnFor: DrawnFor): Generator<undefined, Propagation> =>
    drawnInSlices(nominal, { model, withoutMargin }, spread, drawnFor)
  if (nominal === null || nominal.state === 'runaway') return yield* drawn('no-balance')
  const along: Pair[][] = []
  for (const index of standard.keys()) {
    const moved = (by: number): Looked | null => model(standard.map((sd, at) => (at === index ? by * sd : 0)))
    along.push(distances.map(by => ({ by, above: moved(by), below: moved(-by) })))
    yield
  }
  const looks = { nominal, along }
  const drawnFor = whyNotStraight(model, looks, spread)
  yield
  return drawnFor === undefined ? firstOrder(looks, spread) : yield* drawn(drawnFor)
}

function firstOrder(looks: Looks, spread: Spread): Propagation {
  const { nominal } = looks
  const spreadOf = (figure: FigureOf): number => uncertaintyOf(slopesOf(looks, figure), spread)
  return {
    drawnFor: undefined,
    marginsInSlices: function* () {},
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
