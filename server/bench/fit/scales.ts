/**
 * Least squares with the weights that the data ask for.
 *
 * Each residual starts with the uncertainty of its reading, that of the readings which go into the equations carried to
 * it by their derivatives (the effective variance: J. Orear, Am. J. Phys. 50, 1982; cited from memory), and a share for
 * how well a bench repeats itself from run to run. Then the scales of the two groups, electrical and thermal, are found
 * from the residuals: each group's sum of squares over its share of the degrees of freedom, which is the number of its
 * residuals less their leverages (variance components by Helmert; cited from memory). With too few residuals for that
 * both share one scale.
 *
 * The standard uncertainties do not rest on those weights being right. They come from the residuals as they are, each
 * taken as its own measure of its spread, and made larger for what the fit took up of it (HC2: J. G. MacKinnon and
 * H. White, J. Econometrics 29, 1985; cited from memory). A constant that hangs on a few residuals has as few degrees of
 * freedom, whatever the number of runs (R. M. Bell and D. F. McCaffrey, Survey Methodology 28, 2002; cited from memory).
 * Where that cannot be read, because some residual is all but taken up by the fit or there are too few, they are those of
 * the weighted linear model.
 *
 * Residuals that lie close by chance do not make readings better: no standard uncertainty is below what the readings' own
 * come to when they are carried to the constant. Where there are too few residuals to have a spread of their own, those
 * have the instruments' errors in them. The larger of both counts. What the constants that are held fixed are uncertain
 * by is added, each taken for itself.
 */

import tQuantile from '@stdlib/stats-base-dists-t-quantile'
import { type FigureKind, figureKinds, type Reading, type Readings } from '../log/figures.ts'
import { ofMeasuring } from '../run/compared.ts'
import { columnNorms, decompose, fitLeastSquares, type LeastSquares } from '../statistics/least-squares.ts'
import { upperMedianOf } from '../statistics/moments.ts'
import type { FitPoint, PointInputs } from './point-model.ts'

export interface Observation {
  /** Index of its point. */
  readonly point: number
  readonly kind: Extract<FigureKind, 'power' | 'current' | 'die' | 'plate' | 'coolant'>
  readonly group: 'electrical' | 'thermal'
  readonly reading: Reading
}

export interface ScaledProblem {
  /** In the order of their points. */
  readonly observations: readonly Observation[]
  readonly points: readonly (FitPoint & { readonly inputs: PointInputs })[]
  /** The observations as predicted; with `moved`, those of one point alone with other inputs. */
  readonly predict: (
    values: readonly number[],
    moved?: { readonly point: number; readonly inputs: PointInputs },
  ) => readonly number[] | undefined
  readonly start: readonly number[]
  /** The observations as predicted with each uncertain constant that is held moved by its standard uncertainty. */
  readonly held?: readonly ((values: readonly number[]) => readonly number[] | undefined)[]
}

export interface ScaledFit {
  readonly found: LeastSquares
  readonly standardUncertainties: readonly number[]
  readonly correlation: readonly (readonly number[])[]
  /** Half of each parameter's 95 % interval, with the degrees of freedom of as many residuals as it rests on. */
  readonly reachOf: readonly number[]
  /** Where each would go from here but for the bounds that it is held by; next to nothing inside them. */
  readonly beyond: readonly number[]
  /** Spread of the residuals in W and in K; NaN where a group has too few. */
  readonly sdOf: Readonly<Record<Observation['group'], number>>
}

/** How well a bench repeats itself at best; judgement. It keeps one very long log from outweighing all others. */
const REPEATS = { power: 0.2, powerShare: 0.0005, temperatureK: 0.15 }
const ROUNDS = 6
/** A group needs this many degrees of freedom for a scale of its own. */
const LEAST_FREEDOM = 3

const groups = ['electrical', 'thermal'] as const

/** What the uncertainties of clock, voltage and given temperatures do to the predictions of a point, squared. */
function carried(problem: ScaledProblem, values: readonly number[], index: number): number[] {
  const { inputs, measured, airUncertaintyK } = problem.points[index] as ScaledProblem['points'][number]
  const base = problem.predict(values, { point: index, inputs })
  const count = problem.observations.filter(({ point }) => point === index).length
  const sum = new Array<number>(count).fill(0)
  if (base === undefined) return sum
  const add = (moved: PointInputs): void => {
    problem.predict(values, { point: index, inputs: moved })?.forEach((value, at) => {
      sum[at] = (sum[at] as number) + (value - (base[at] as number)) ** 2
    })
  }
  const { clock, voltage, plate, coolant } = measured
  if (clock !== undefined) add({ ...inputs, clockGhz: clock.value + clock.standardUncertainty })
  if (voltage !== undefined) add({ ...inputs, voltageV: voltage.value + voltage.standardUncertainty })
  // Where plate and coolant are predicted these change nothing; where they are given they do.
  if (plate !== undefined) add({ ...inputs, plateC: plate.value + plate.standardUncertainty })
  if (coolant !== undefined) add({ ...inputs, coolantC: coolant.value + coolant.standardUncertainty })
  if (airUncertaintyK !== undefined) add({ ...inputs, airC: inputs.airC + airUncertaintyK })
  return sum
}

/**
 * The middle uncertainty of each kind of figure. A reading's own is known to a quarter of itself at best, and weights
 * that follow it closely would make the result look surer than it is: so each goes half way to the usual one.
 */
function usualUncertainties(observations: readonly Observation[]): ReadonlyMap<string, number> {
  const byKind = new Map<string, number[]>()
  for (const { kind, reading } of observations) {
    byKind.set(kind, [...(byKind.get(kind) ?? []), reading.standardUncertainty])
  }
  return new Map([...byKind].map(([kind, all]) => [kind, upperMedianOf(all) as number]))
}

/** Readings with what their instruments are good for. */
function withInstrument(measured: Readings): Readings {
  return Object.fromEntries(
    figureKinds.flatMap(kind => {
      const reading = measured[kind]
      return reading === undefined ? [] : [[kind, { ...reading, standardUncertainty: ofMeasuring(kind, reading) }]]
    }),
  )
}

/** Variances of the observations by what their readings, and those that go into the equations, are known to. */
function readingVariances(problem: ScaledProblem, values: readonly number[], isThin: boolean): number[] {
  const points = isThin
    ? problem.points.map(point => ({ ...point, measured: withInstrument(point.measured) }))
    : problem.points
  const own = points.map((_, index) => carried({ ...problem, points }, values, index))
  const next = points.map(() => 0)
  return problem.observations.map(({ point, kind }) => {
    const at = next[point] as number
    next[point] = at + 1
    return (points[point]?.measured[kind]?.standardUncertainty ?? 0) ** 2 + (own[point]?.[at] ?? 0)
  })
}

/** Standard uncertainties of the residuals before their scales are known. */
function deviations(problem: ScaledProblem, values: readonly number[]): number[] {
  const own = problem.points.map((_, index) => carried(problem, values, index))
  const next = problem.points.map(() => 0)
  const usual = usualUncertainties(problem.observations)
  return problem.observations.map(({ point, kind, reading }) => {
    const at = next[point] as number
    next[point] = at + 1
    const repeats =
      kind === 'power' || kind === 'current'
        ? Math.hypot(REPEATS.power, REPEATS.powerShare * reading.value)
        : REPEATS.temperatureK
    const ownVariance = reading.standardUncertainty * (usual.get(kind) ?? reading.standardUncertainty)
    return Math.sqrt(ownVariance + repeats ** 2 + (own[point]?.[at] ?? 0))
  })
}

/** The diagonal of the projection onto the model: how much of its own residual each observation takes up. */
function leverages(found: LeastSquares): number[] {
  const { jacobian, parameters } = found
  if (parameters.length === 0) return jacobian.map(() => 0)
  const { left, singular } = decompose(jacobian, columnNorms(jacobian, parameters.length))
  const largest = Math.max(...singular)
  return jacobian.map((_, row) =>
    singular.reduce((sum, value, k) => sum + (value > largest * 1e-12 ? (left[k]?.[row] as number) ** 2 : 0), 0),
  )
}

/** @returns undefined where the model says nothing at the start, or there are fewer observations than parameters */
export function fitWithScales(problem: ScaledProblem): ScaledFit | undefined {
  const { observations, predict } = problem
  const scale = { electrical: 1, thermal: 1 }
  let from = problem.start
  let sd = deviations(problem, from)
  let found: LeastSquares | undefined
  let weights: readonly number[] = []
  for (let round = 0; round < ROUNDS; round++) {
    weights = observations.map(({ group }, index) => 1 / ((sd[index] as number) * scale[group]))
    const own = weights
    const residuals = (values: readonly number[]): Float64Array | undefined => {
      const predicted = predict(values)
      return (
        predicted &&
        Float64Array.from(
          observations,
          ({ reading }, index) => ((predicted[index] as number) - reading.value) * (own[index] as number),
        )
      )
    }
    found = fitLeastSquares({ residuals }, from, { maxIterations: 100, sizes: problem.start })
    if (found === undefined) return undefined
    const factors = factorsOf(observations, found)
    from = found.parameters
    if (round === 0) sd = deviations(problem, from)
    const isStill = groups.every(group => Math.abs(factors[group] - 1) < 0.01)
    if (isStill && round > 0) break
    for (const group of groups) scale[group] *= factors[group]
  }
  return found && { found, ...uncertaintiesOf(problem, found, weights), sdOf: spreadOf(problem, found) }
}

/** Where the fit took up more of a residual than this, the residual says nothing of its own spread. */
const MOST_LEVERAGE = 0.98

/** Of a normal distribution: the half-width of its 95 % interval in standard deviations. */
const NORMAL_95 = 1.959964

/** By how much each parameter moves with changes of the weighted residuals. */
const moved = (pull: readonly (readonly number[])[], by: readonly number[]): number[] =>
  pull.map(weights => weights.reduce((sum, value, row) => sum + value * (by[row] as number), 0))

/** Standard uncertainties, correlations and intervals of the parameters. */
function uncertaintiesOf(
  problem: ScaledProblem,
  found: LeastSquares,
  weights: readonly number[],
): Pick<ScaledFit, 'standardUncertainties' | 'correlation' | 'reachOf' | 'beyond'> {
  const { observations, predict } = problem
  const { jacobian, parameters, degreesOfFreedom, residuals } = found
  const own = leverages(found)
  const { left, singular, right, scale } = decompose(jacobian, columnNorms(jacobian, parameters.length))
  /** By how much each parameter moves with each residual. */
  const pull = parameters.map((_, column) =>
    observations.map((__, row) =>
      singular.reduce(
        (sum, value, k) =>
          sum + ((right[k]?.[column] as number) * (left[k]?.[row] as number)) / (value * (scale[column] as number)),
        0,
      ),
    ),
  )
  const freedom = groups.map(group =>
    observations.reduce((sum, one, index) => (one.group === group ? sum + 1 - (own[index] as number) : sum), 0),
  )
  const isThin = groups.some(
    (group, at) => observations.some(one => one.group === group) && (freedom[at] as number) < LEAST_FREEDOM,
  )
  const isWeighted = isThin || own.some(value => value > MOST_LEVERAGE)
  const kept = own.map(value => 1 - value)
  const scatter = isWeighted
    ? found.correlation.map((row, i) => row.map((r, j) => r * spreadBy(found, i) * spreadBy(found, j)))
    : products(
        pull,
        residuals.map((value, row) => value ** 2 / (kept[row] as number)),
      )
  const freedomOf = pull.map(weighted => {
    if (isWeighted) return degreesOfFreedom
    // The variance is a sum of squares of residuals M·ε with weights d: its freedom is (tr dM)²/tr(dMdM).
    const share = weighted.map((value, row) => value ** 2 / (kept[row] as number))
    let [trace, squares] = [0, 0]
    share.forEach((a, i) => {
      trace += a * (kept[i] as number)
      share.forEach((b, j) => {
        const taken = singular.reduce((sum, _, k) => sum + (left[k]?.[i] as number) * (left[k]?.[j] as number), 0)
        squares += a * b * ((i === j ? 1 : 0) - taken) ** 2
      })
    })
    return trace ** 2 / squares
  })
  const variances = readingVariances(problem, parameters, isThin)
  const readings = products(
    pull,
    variances.map((value, row) => value * (weights[row] as number) ** 2),
  )
  const base = predict(parameters) ?? []
  const shifts = (problem.held ?? []).map(one => {
    const other = one(parameters) ?? base
    return moved(
      pull,
      base.map((value, row) => (value - (other[row] as number)) * (weights[row] as number)),
    )
  })
  const root = (matrix: readonly (readonly number[])[], i: number): number => Math.sqrt(matrix[i]?.[i] as number)
  // Where residuals are nothing at all, the readings say how errors are correlated.
  const shape = parameters.every((_, i) => root(scatter, i) > 0) ? scatter : readings
  const spread = parameters.map((_, i) => Math.max(root(scatter, i), root(readings, i)))
  const covariance = shape.map((row, i) =>
    row.map((value, j) => {
      const r = i === j ? 1 : value / (root(shape, i) * root(shape, j))
      const scaled = r * (spread[i] as number) * (spread[j] as number)
      return shifts.reduce((sum, shift) => sum + (shift[i] as number) * (shift[j] as number), scaled)
    }),
  )
  const standardUncertainties = covariance.map((_, i) => root(covariance, i))
  return {
    standardUncertainties,
    beyond: moved(pull, residuals),
    correlation: covariance.map((row, i) =>
      row.map((value, j) => value / ((standardUncertainties[i] as number) * (standardUncertainties[j] as number))),
    ),
    reachOf: parameters.map((_, i) => {
      const byScatter = tQuantile(0.975, freedomOf[i] as number) * root(scatter, i)
      const own = Math.max(byScatter, NORMAL_95 * (spread[i] as number))
      return Math.hypot(own, ...shifts.map(shift => NORMAL_95 * (shift[i] as number)))
    }),
  }
}

const spreadBy = ({ standardUncertainties }: LeastSquares, index: number): number =>
  standardUncertainties[index] as number

/** P·diag(v)·Pᵀ. */
function products(pull: readonly (readonly number[])[], variances: readonly number[]): number[][] {
  return pull.map(a =>
    pull.map(b => a.reduce((sum, value, row) => sum + value * (b[row] as number) * (variances[row] as number), 0)),
  )
}

function factorsOf(observations: readonly Observation[], found: LeastSquares): Record<Observation['group'], number> {
  const own = leverages(found)
  const common = Number.isNaN(found.residualSd) || found.residualSd === 0 ? 1 : found.residualSd
  const factor = (group: Observation['group']): number => {
    let [squares, freedom] = [0, 0]
    observations.forEach((one, index) => {
      if (one.group !== group) return
      squares += (found.residuals[index] as number) ** 2
      freedom += 1 - (own[index] as number)
    })
    return freedom >= LEAST_FREEDOM && squares > 0 ? Math.sqrt(squares / freedom) : common
  }
  return { electrical: factor('electrical'), thermal: factor('thermal') }
}

/** The spread of power residuals in W and of temperature residuals in K, by their degrees of freedom. */
function spreadOf(
  { observations, predict }: ScaledProblem,
  found: LeastSquares,
): Readonly<Record<Observation['group'], number>> {
  const own = leverages(found)
  const predicted = predict(found.parameters) ?? []
  const spread = (group: Observation['group']): number => {
    let [squares, freedom] = [0, 0]
    observations.forEach(({ group: other, kind, reading }, index) => {
      if (other !== group || kind === 'current') return
      squares += ((predicted[index] as number) - reading.value) ** 2
      freedom += 1 - (own[index] as number)
    })
    return freedom > 0.5 ? Math.sqrt(squares / freedom) : Number.NaN
  }
  return { electrical: spread('electrical'), thermal: spread('thermal') }
}
