/** Runs that cannot have been made with the profile and under the load that they are filed under. */
import { endMean } from '../likelihood/log-settled.ts'
import type { Scatter } from '../likelihood/sitting.ts'
import { likeliestErrors } from '../likelihood/whitening.ts'
import type { ComparedRun } from '../run/compared.ts'
import type { RunPrediction } from '../run/prediction.ts'
import { solveLower } from '../statistics/cholesky.ts'
import { factorCovariance, type Slices } from '../statistics/independent.ts'
import type { Posterior } from '../statistics/posterior.ts'
import { loss } from '../statistics/robust.ts'
import type { Sitting } from './sittings.ts'

export interface Misfiled {
  readonly run: string
  /** What fits it far better. */
  readonly profile: string
  readonly load: string
}

/** Another profile and load is named where it makes the run so many times likelier. */
const LIKELIER = 1000
/** A clock is held to this share of itself, a set voltage reaches the die to so many volts; engineering judgement. */
const CLOCK_SHARE = 0.004
const VOLTAGE_V = 0.012

/** Twice the negative logarithm of the likelihood of a run on a bench whose constants are known. */
function* misfit({ evidence }: Sitting, mode: Float64Array): Slices<number> {
  const { size } = evidence
  const z = new Float64Array(size)
  const covariance = new Float64Array(size * size)
  if (!evidence.residuals(mode, z)) return Number.POSITIVE_INFINITY
  yield* evidence.prepare?.(mode) ?? []
  evidence.covariance(mode, covariance)
  if (!factorCovariance(covariance, size)) return Number.POSITIVE_INFINITY
  solveLower(covariance, size, z)
  let sum = 0
  for (let row = 0; row < size; row++)
    sum += loss(z[row] as number) + 2 * Math.log(covariance[row * size + row] as number)
  return sum
}

/** The same of its clock and voltage beside what the profile sets under the load. */
function settingsMisfit({ clockGhz, voltageV }: Settings, { settled }: RunPrediction): number {
  let sum = 0
  if (clockGhz !== undefined && settled.clockMhz !== null)
    sum += loss((clockGhz * 1000 - settled.clockMhz) / (CLOCK_SHARE * settled.clockMhz))
  if (voltageV !== undefined && settled.voltageV !== null) sum += loss((voltageV - settled.voltageV) / VOLTAGE_V)
  return sum
}

interface Settings {
  readonly clockGhz: number | undefined
  readonly voltageV: number | undefined
}

/** Clock and voltage as they were measured, at the end of a log. */
function measuredSettings(sitting: Sitting): Settings {
  const read = (kind: 'clock' | 'voltage'): number | undefined =>
    sitting.kind === 'log' ? endMean(sitting.evidence.blocks, kind) : sitting.run?.record.measured[kind]?.value
  return { clockGhz: read('clock'), voltageV: read('voltage') }
}

/**
 * The most that another profile and load could take off a run's misfit, apart from its settings: what the shared errors of its
 * log, or the readings of a point, had to absorb. The scatter from reading to reading stays.
 */
function excess(sitting: Sitting, mode: Float64Array, independent: Float64Array | undefined): number {
  if (sitting.kind === 'point') return (independent ?? new Float64Array(0)).reduce((sum, z) => sum + loss(z), 0)
  const found = likeliestErrors(sitting.evidence, mode)
  return found === undefined ? Number.POSITIVE_INFINITY : found.values.reduce((sum, value) => sum + value * value, 0)
}

/**
 * @param others predictions of the run for the other profiles and loads that runs were made with, by names
 * @param sittingFor the run as evidence under another prediction; undefined where it says nothing there
 */
export function* misfiled(
  sittings: readonly Sitting[],
  { posterior, scatter }: { readonly posterior: Posterior; readonly scatter: Scatter },
  others: (run: ComparedRun) => Iterable<Alternative>,
  sittingFor: (run: ComparedRun, predicted: RunPrediction) => Sitting | undefined,
): Slices<readonly Misfiled[]> {
  const found: Misfiled[] = []
  for (const sitting of sittings) {
    yield
    const { run } = sitting
    // A course has several loads; nothing else is compared with it.
    if (run?.predicted === undefined || run.predicted.ofCourse !== undefined) continue
    const settings = measuredSettings(sitting)
    const ofSettings = settingsMisfit(settings, run.predicted)
    const independent = posterior.independent.get(sitting.evidence)
    yield* sitting.evidence.prepare?.(posterior.mode) ?? []
    if (ofSettings + excess(sitting, posterior.mode, independent) < 2 * Math.log(LIKELIER)) continue
    const own = (yield* misfit(sitting, posterior.mode)) + ofSettings
    let best: { readonly sum: number; readonly other: Alternative } | undefined
    for (const other of others(run)) {
      yield
      const tried = sittingFor(run, other.predicted)
      // With other residuals, or fewer of them, nothing is compared.
      if (tried === undefined || tried.evidence.size !== sitting.evidence.size) continue
      if (tried.kind === 'log' && sitting.kind === 'log') tried.evidence.noises = sitting.evidence.noises
      tried.evidence.scatterBy(scatter)
      const sum = (yield* misfit(tried, posterior.mode)) + settingsMisfit(settings, other.predicted)
      if (best === undefined || sum < best.sum) best = { sum, other }
    }
    if (best === undefined || own - best.sum < 2 * Math.log(LIKELIER)) continue
    found.push({ run: run.record.name, profile: best.other.profile, load: best.other.load })
  }
  return found
}

/** A profile and a load that another run was made with, and what they are predicted to do in the run's air. */
export interface Alternative {
  readonly profile: string
  readonly load: string
  readonly predicted: RunPrediction
}
