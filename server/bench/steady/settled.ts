/** What a log settles at, whether or not it did. */
import { type LogBench, type LogEvidence, logEvidence } from '../likelihood/log.ts'
import type { LogPoint } from '../likelihood/log-point.ts'
import { type Settled, settledWith } from '../likelihood/log-settled.ts'
import { likeliestErrors, noiseAfter, type SharedErrors } from '../likelihood/whitening.ts'
import type { Reading } from '../log/figures.ts'
import { solveLower } from '../statistics/cholesky.ts'
import type { Slices, Unknown } from '../statistics/independent.ts'
import { posteriorInSlices } from '../statistics/posterior.ts'

/**
 * A bench fitted to one log alone, its constants known as far as they are stated, and followed to where all stands still
 * under the load of the log's end. Temperatures alone are fitted: the power law counts as it is stated.
 */
export interface LogFit {
  readonly bench: LogBench
  readonly unknowns: readonly Unknown[]
  readonly evidence: LogEvidence
  /** The likeliest values of the unknowns, and how uncertain they are, row by row. */
  readonly mode: Float64Array
  readonly covariance: Float64Array
}

const NOISE_ROUNDS = 4

/** Constants and noise found in turn, until both agree; undefined where the log has no temperature that can be followed. */
export function* fitLogInSlices(
  point: LogPoint,
  bench: LogBench,
  unknowns: readonly Unknown[],
): Slices<LogFit | undefined> {
  const evidence = logEvidence(point, bench, 'temperatures')
  if (evidence.size === 0) return undefined
  // What is asked is where this sitting ends: scatter between sittings does not count.
  evidence.scatterBy({ powerShare: 0, temperatureK: 0 })
  let start: Float64Array | undefined
  for (let round = 1; round < NOISE_ROUNDS; round++) {
    const rough = yield* posteriorInSlices(unknowns, [evidence], { steps: 0, isRough: true, ...(start && { start }) })
    if (rough === undefined) return undefined
    start = rough.mode
    evidence.noises = (yield* noiseAfter(evidence, rough.mode)) ?? evidence.noises
  }
  const found = yield* posteriorInSlices(unknowns, [evidence], { steps: 0, ...(start && { start }) })
  if (found !== undefined) yield* evidence.prepare?.(found.mode) ?? []
  return found && { bench, unknowns, evidence, mode: found.mode, covariance: found.covariance }
}

const figures = {
  die: ({ dieC }: Settled) => dieC,
  plate: ({ plateC }: Settled) => plateC,
  coolant: ({ coolantC }: Settled) => coolantC,
  power: ({ powerW }: Settled) => powerW,
}
type SettledFigure = keyof typeof figures
const kinds = Object.keys(figures) as SettledFigure[]

const DIFFERENCE = 0.05

export type SettledFigures = Readonly<Record<SettledFigure, Reading>>

/**
 * What the log settles at as its sensors would read it, with one standard uncertainty each, by first order: of the
 * constants, with what the errors that all readings share come to for each of their values, and of those errors.
 */
export function settledFigures(fit: LogFit): SettledFigures | undefined {
  const here = likeliestErrors(fit.evidence, fit.mode)
  return here && figuresAt(fit, here, here.values)
}

/** @param errors the shared errors about which all is taken as straight */
export function figuresAt(
  { evidence, mode, covariance }: Pick<LogFit, 'evidence' | 'mode' | 'covariance'>,
  here: SharedErrors,
  errors: Float64Array,
): SettledFigures | undefined {
  const centre = settledWith(evidence, mode, errors)
  if (centre === undefined) return undefined
  const n = mode.length
  const { size } = evidence
  const shared = errors.length
  const white = whitenedShape(evidence, here)
  const byUnknown = kinds.map(() => new Float64Array(n))
  const moved = Float64Array.from(mode)
  const [residuals, atMode] = [new Float64Array(size), new Float64Array(size)]
  if (!evidence.residuals(mode, atMode)) return undefined
  for (let index = 0; index < n; index++) {
    const step = DIFFERENCE * Math.sqrt(covariance[index * n + index] as number)
    if (!(step > 0)) continue
    const [above, below] = [step, -step].map(by => {
      moved[index] = (mode[index] as number) + by
      if (!evidence.residuals(moved, residuals)) return undefined
      // The covariance held, the errors follow the residuals.
      for (let row = 0; row < size; row++) residuals[row] = (residuals[row] as number) - (atMode[row] as number)
      solveLower(here.factor, size, residuals)
      const own = Float64Array.from(errors)
      for (let k = 0; k < shared; k++)
        for (let row = 0; row < size; row++)
          own[k] = (own[k] as number) - (white[row * shared + k] as number) * (residuals[row] as number)
      return settledWith(evidence, moved, own)
    })
    moved[index] = mode[index] as number
    if (above === undefined || below === undefined) return undefined
    kinds.forEach((kind, at) => {
      ;(byUnknown[at] as Float64Array)[index] = (figures[kind](above) - figures[kind](below)) / (2 * step)
    })
  }
  const byError = kinds.map(() => new Float64Array(shared))
  const own = Float64Array.from(errors)
  for (let k = 0; k < shared; k++) {
    const [above, below] = [DIFFERENCE, -DIFFERENCE].map(by => {
      own[k] = (errors[k] as number) + by
      return settledWith(evidence, mode, own)
    })
    own[k] = errors[k] as number
    if (above === undefined || below === undefined) return undefined
    kinds.forEach((kind, at) => {
      ;(byError[at] as Float64Array)[k] = (figures[kind](above) - figures[kind](below)) / (2 * DIFFERENCE)
    })
  }
  const left = errorCovariance(white, size, shared)
  return Object.fromEntries(
    kinds.map((kind, at) => {
      const square = quadratic(byUnknown[at] as Float64Array, covariance) + quadratic(byError[at] as Float64Array, left)
      return [kind, { value: figures[kind](centre), standardUncertainty: Math.sqrt(Math.max(0, square)) }]
    }),
  ) as unknown as SettledFigures
}

/** L⁻¹ B. */
function whitenedShape({ size, errors }: LogEvidence, { by, factor: l }: SharedErrors): Float64Array {
  const shared = errors.length
  const found = new Float64Array(size * shared)
  const column = new Float64Array(size)
  for (let k = 0; k < shared; k++) {
    for (let row = 0; row < size; row++) column[row] = by[row * shared + k] as number
    solveLower(l, size, column)
    for (let row = 0; row < size; row++) found[row * shared + k] = column[row] as number
  }
  return found
}

/** What is left of the shared errors once the residuals are known: 1 − Bᵀ S⁻¹ B. */
function errorCovariance(white: Float64Array, size: number, shared: number): Float64Array {
  const found = new Float64Array(shared * shared)
  for (let i = 0; i < shared; i++)
    for (let j = 0; j < shared; j++) {
      let sum = i === j ? 1 : 0
      for (let row = 0; row < size; row++)
        sum -= (white[row * shared + i] as number) * (white[row * shared + j] as number)
      found[i * shared + j] = sum
    }
  return found
}

function quadratic(by: Float64Array, covariance: Float64Array): number {
  const n = by.length
  let sum = 0
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) sum += (by[i] as number) * (by[j] as number) * (covariance[i * n + j] as number)
  return sum
}
