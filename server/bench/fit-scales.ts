import { columnNorms, decompose, fitLeastSquares, type LeastSquares } from './least-squares.ts'
import type { FitPoint, PointInputs } from './point-model.ts'
import type { FigureKind, Reading } from './runs.ts'

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
 * Where that cannot be had, because some residual is all but taken up by the fit or there are too few, they are those of
 * the weighted linear model.
 */

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
}

export interface ScaledFit {
  readonly found: LeastSquares
  readonly standardUncertainties: readonly number[]
  readonly correlation: readonly (readonly number[])[]
  /** Degrees of freedom of each parameter's standard uncertainty: of as many residuals as it rests on. */
  readonly freedomOf: readonly number[]
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
  return new Map([...byKind].map(([kind, all]) => [kind, all.toSorted((a, b) => a - b)[all.length >> 1] as number]))
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
    singular.reduce((sum, value, k) => sum + (value > largest * 1e-12 ? left.get(row, k) ** 2 : 0), 0),
  )
}

/** @returns undefined where the model says nothing at the start, or there are fewer observations than parameters */
export function fitWithScales(problem: ScaledProblem): ScaledFit | undefined {
  const { observations, predict } = problem
  const scale = { electrical: 1, thermal: 1 }
  let from = problem.start
  let sd = deviations(problem, from)
  let found: LeastSquares | undefined
  for (let round = 0; round < ROUNDS; round++) {
    const weights = observations.map(({ group }, index) => 1 / ((sd[index] as number) * scale[group]))
    const residuals = (values: readonly number[]): Float64Array | undefined => {
      const predicted = predict(values)
      return (
        predicted &&
        Float64Array.from(
          observations,
          ({ reading }, index) => ((predicted[index] as number) - reading.value) * (weights[index] as number),
        )
      )
    }
    found = fitLeastSquares({ residuals }, from, { maxIterations: 100 })
    if (found === undefined) return undefined
    const factors = factorsOf(observations, found)
    from = found.parameters
    if (round === 0) sd = deviations(problem, from)
    const isStill = groups.every(group => Math.abs(factors[group] - 1) < 0.01)
    if (isStill && round > 0) break
    for (const group of groups) scale[group] *= factors[group]
  }
  return found && { found, ...uncertaintiesOf(observations, found), sdOf: spreadOf(problem, found) }
}

/** A residual of which the fit took up more than this says nothing of its own spread. */
const MOST_LEVERAGE = 0.98

/** Standard uncertainties, correlations and degrees of freedom of the parameters. */
function uncertaintiesOf(
  observations: readonly Observation[],
  found: LeastSquares,
): Pick<ScaledFit, 'standardUncertainties' | 'correlation' | 'freedomOf'> {
  const { jacobian, parameters, degreesOfFreedom, residuals } = found
  const own = leverages(found)
  const { left, singular, right, scale } = decompose(jacobian, columnNorms(jacobian, parameters.length))
  /** By how much each parameter moves with each residual. */
  const pull = parameters.map((_, column) =>
    observations.map((__, row) =>
      singular.reduce(
        (sum, value, k) => sum + (right.get(column, k) * left.get(row, k)) / (value * (scale[column] as number)),
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
  if (isWeighted) {
    const { standardUncertainties, correlation } = found
    return { standardUncertainties, correlation, freedomOf: parameters.map(() => degreesOfFreedom) }
  }
  const kept = own.map(value => 1 - value)
  const variances = residuals.map((value, row) => value ** 2 / (kept[row] as number))
  const covariance = pull.map(a =>
    pull.map(b => a.reduce((sum, value, row) => sum + value * (b[row] as number) * (variances[row] as number), 0)),
  )
  const standardUncertainties = covariance.map((row, index) => Math.sqrt(row[index] as number))
  return {
    standardUncertainties,
    correlation: covariance.map((row, i) =>
      row.map((value, j) => value / ((standardUncertainties[i] as number) * (standardUncertainties[j] as number))),
    ),
    freedomOf: pull.map(weights => {
      // The variance is a sum of squares of residuals M·ε with weights d: its freedom is (tr dM)²/tr(dMdM).
      const own = weights.map((value, row) => value ** 2 / (kept[row] as number))
      let [trace, squares] = [0, 0]
      own.forEach((a, i) => {
        trace += a * (kept[i] as number)
        own.forEach((b, j) => {
          const taken = singular.reduce((sum, _, k) => sum + left.get(i, k) * left.get(j, k), 0)
          squares += a * b * ((i === j ? 1 : 0) - taken) ** 2
        })
      })
      return trace ** 2 / squares
    }),
  }
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
