/** Constants, noise of logs and scatter between sittings, each found as the others leave it, in turn until all agree. */

import type { LogEvidence } from '../likelihood/log.ts'
import { type Scatter, type SittingEvidence, usualScatter } from '../likelihood/sitting.ts'
import { noiseAfter } from '../likelihood/whitening.ts'
import { factor, solveLower } from '../statistics/cholesky.ts'
import { EXPECTED_WEIGHT } from '../statistics/descent.ts'
import { factorCovariance, type Slices, type Unknown } from '../statistics/independent.ts'
import { type Posterior, type PosteriorOptions, posteriorInSlices } from '../statistics/posterior.ts'
import { loss } from '../statistics/robust.ts'

export interface EvidenceFit {
  readonly posterior: Posterior
  readonly scatter: Scatter
}

const ROUNDS = 4
/** From so many sittings on they show their own scatter; engineering judgement. */
const TELLING_SITTINGS = 5
/** One geometric standard deviation of the scatter about the usual one, before any sitting; engineering judgement. */
const SCATTER_FACTOR = 2
const SEARCH = { factor: 8, steps: 14 }
/** Scatter that moves by less than this share has come to rest. */
const STILL = 0.03

/** How far a fit is: so many of its steps are done. */
export type TellSteps = (done: number, of: number) => void

/**
 * @param points what was seen and read off by hand
 * @param logs whole logs
 * @returns undefined where the model says nothing at the means of the unknowns
 */
export function* fitEvidenceInSlices(
  unknowns: readonly Unknown[],
  points: readonly SittingEvidence[],
  logs: readonly LogEvidence[],
  options: PosteriorOptions = {},
  tell: TellSteps = () => undefined,
): Slices<EvidenceFit | undefined> {
  const all = [...points, ...logs]
  let scatter = usualScatter
  let found: Posterior | undefined
  for (const one of all) one.scatterBy(scatter)
  for (let round = 0; round < ROUNDS; round++) {
    tell(round, ROUNDS + 1)
    const rough = yield* posteriorInSlices(unknowns, all, {
      steps: 0,
      isRough: true,
      ...(found && { start: found.mode }),
    })
    if (rough === undefined) return undefined
    found = rough
    for (const log of logs) {
      log.noises = (yield* noiseAfter(log, rough.mode)) ?? log.noises
    }
    const next = yield* scatterOf(unknowns, all, rough, scatter)
    const isStill = (['powerShare', 'temperatureK'] as const).every(
      key => Math.abs(Math.log(next[key] / scatter[key])) < STILL,
    )
    scatter = next
    for (const one of all) one.scatterBy(scatter)
    if (logs.length === 0 && isStill) break
  }
  tell(ROUNDS, ROUNDS + 1)
  const posterior = yield* posteriorInSlices(unknowns, all, { ...options, ...(found && { start: found.mode }) })
  return posterior && { posterior, scatter }
}

/** One piece of evidence at the likeliest values: its covariance without scatter, and what each kind of scatter adds. */
interface Parts {
  readonly size: number
  readonly residuals: Float64Array
  readonly bare: Float64Array
  readonly byKind: Readonly<Record<keyof Scatter, Float64Array>>
  /** Derivatives of the residuals over the standardised unknowns, column by column. */
  readonly slopes: readonly Float64Array[]
}

const DIFFERENCE = 1e-3

function* partsOf(
  unknowns: readonly Unknown[],
  evidence: SittingEvidence,
  mode: Float64Array,
): Slices<Parts | undefined> {
  const { size } = evidence
  const residuals = new Float64Array(size)
  const covarianceAt = function* (scatter: Scatter): Slices<Float64Array> {
    const out = new Float64Array(size * size)
    evidence.scatterBy(scatter)
    yield* evidence.prepare?.(mode) ?? []
    evidence.covariance(mode, out)
    return out
  }
  const bare = yield* covarianceAt({ powerShare: 0, temperatureK: 0 })
  const less = (whole: Float64Array, by: number): Float64Array =>
    whole.map((value, index) => (value - (bare[index] as number)) / by)
  const byKind = {
    powerShare: less(yield* covarianceAt({ powerShare: 0.01, temperatureK: 0 }), 1e-4),
    temperatureK: less(yield* covarianceAt({ powerShare: 0, temperatureK: 1 }), 1),
  }
  if (!evidence.residuals(mode, residuals)) return undefined
  const moved = Float64Array.from(mode)
  const slopes: Float64Array[] = []
  for (const index of evidence.unknowns) {
    const { sd } = unknowns[index] as Unknown
    const own = new Float64Array(size)
    moved[index] = (mode[index] as number) + DIFFERENCE * sd
    const isThere = sd > 0 && evidence.residuals(moved, own)
    moved[index] = mode[index] as number
    slopes.push(own.map((value, row) => (isThere ? (value - (residuals[row] as number)) / DIFFERENCE : 0)))
    if (evidence.isSlow) yield
  }
  return { size, residuals, bare, byKind, slopes }
}

/**
 * The scatter that makes all residuals likeliest, what the constants took of them put back: twice the negative logarithm of
 * the marginal likelihood by Laplace's method, Σ ρ(z) + ln det S + ln det H, with a prior of its own.
 */
function* scatterOf(
  unknowns: readonly Unknown[],
  all: readonly SittingEvidence[],
  { mode }: Posterior,
  before: Scatter,
): Slices<Scatter> {
  const counts = {
    powerShare: all.filter(({ hasLaw }) => hasLaw).length,
    temperatureK: all.filter(({ hasStage }) => hasStage).length,
  }
  const kinds = (['powerShare', 'temperatureK'] as const).filter(kind => counts[kind] >= TELLING_SITTINGS)
  if (kinds.length === 0) return usualScatter
  const parts: (Parts & { readonly unknowns: readonly number[] })[] = []
  for (const one of all) {
    const own = yield* partsOf(unknowns, one, mode)
    if (own !== undefined) parts.push({ ...own, unknowns: one.unknowns })
  }
  let scatter = before
  for (const kind of kinds) {
    const at = (factor: number): number => {
      const tried = { ...scatter, [kind]: usualScatter[kind] * factor }
      return marginal(unknowns, parts, tried) + (Math.log(factor) / Math.log(SCATTER_FACTOR)) ** 2
    }
    scatter = { ...scatter, [kind]: usualScatter[kind] * (yield* lowest(at)) }
  }
  return scatter
}

function marginal(
  unknowns: readonly Unknown[],
  parts: readonly (Parts & { readonly unknowns: readonly number[] })[],
  scatter: Scatter,
): number {
  const n = unknowns.length
  const precision = new Float64Array(n * n)
  for (let i = 0; i < n; i++) precision[i * n + i] = 1
  let sum = 0
  for (const { size, residuals, bare, byKind, slopes, unknowns: own } of parts) {
    const l = bare.map(
      (value, index) =>
        value +
        scatter.powerShare ** 2 * (byKind.powerShare[index] as number) +
        scatter.temperatureK ** 2 * (byKind.temperatureK[index] as number),
    )
    if (!factorCovariance(l, size)) return Number.POSITIVE_INFINITY
    const z = Float64Array.from(residuals)
    solveLower(l, size, z)
    for (let i = 0; i < size; i++) sum += loss(z[i] as number) + 2 * Math.log(l[i * size + i] as number)
    const white = slopes.map(column => {
      const copy = Float64Array.from(column)
      solveLower(l, size, copy)
      return copy
    })
    own.forEach((first, a) => {
      own.forEach((second, b) => {
        if (second > first) return
        let product = 0
        for (let row = 0; row < size; row++) product += (white[a]?.[row] as number) * (white[b]?.[row] as number)
        precision[first * n + second] = (precision[first * n + second] as number) + EXPECTED_WEIGHT * product
      })
    })
  }
  if (!factor(precision, n)) return Number.POSITIVE_INFINITY
  for (let i = 0; i < n; i++) sum += 2 * Math.log(precision[i * n + i] as number)
  return sum
}

/** Where a function of a factor is lowest, by golden sections of its logarithm. */
function* lowest(of: (factor: number) => number): Slices<number> {
  const golden = (Math.sqrt(5) - 1) / 2
  let [low, high] = [-Math.log(SEARCH.factor), Math.log(SEARCH.factor)]
  let [a, b] = [high - golden * (high - low), low + golden * (high - low)]
  let [atA, atB] = [of(Math.exp(a)), of(Math.exp(b))]
  for (let step = 0; step < SEARCH.steps; step++) {
    yield
    if (atA < atB) {
      high = b
      ;[b, atB] = [a, atA]
      a = high - golden * (high - low)
      atA = of(Math.exp(a))
    } else {
      low = a
      ;[a, atA] = [b, atB]
      b = low + golden * (high - low)
      atB = of(Math.exp(b))
    }
  }
  return Math.exp((low + high) / 2)
}
