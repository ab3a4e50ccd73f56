/** A fit of everything that was seen of a part: the runs that were made with it, and its known points. */
import { partConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { doubtedOf } from '../../semantic/doubted.ts'
import { fittedRecord } from '../../semantic/fitted.ts'
import { predictOne } from '../../semantic/predict.ts'
import type { ComparedRun } from '../run/compared.ts'
import type { RunPrediction } from '../run/prediction.ts'
import type { RunSettings } from '../run/settings.ts'
import type { Slices } from '../statistics/independent.ts'
import { type FitResult, fitConstants, fitPart, type NoFit } from './fit.ts'
import { type Alternative, type Misfiled, misfiled } from './misfiled.ts'
import { endsOf, type OwnSlope, type RunEnd, slopePlaces, slopesOf } from './needs-slopes.ts'
import { remembered } from './remembered.ts'
import { type OddReading, oddReadings, residualOf, type SittingResidual } from './residuals.ts'
import type { TellSteps } from './rounds.ts'
import { sittingOf } from './sittings.ts'

export interface RunsFit {
  readonly part: Definition
  /** The coolers that the runs were made with; without runs, those of the part's profiles. */
  readonly coolers: ReadonlyMap<string, Definition>
  readonly result: FitResult | NoFit
  readonly residuals: readonly SittingResidual[]
  /** Readings that nothing explains; they count for little. */
  readonly odd: readonly OddReading[]
  /** Runs that fit another profile and load far better than those that they are filed under. */
  readonly misfiled: readonly Misfiled[]
  /** The runs that were taken, and whose settings they were compared with. */
  readonly used: readonly { readonly run: string; readonly settings: RunSettings }[]
  /** How many known points of the part were taken. */
  readonly points: number
  /** From runs that held and runs that stopped; those that were asked for. */
  readonly needsSlopes: readonly OwnSlope[]
  /** Runs whose end says nothing of the needs, and why. */
  readonly noEvidence: readonly { readonly run: string; readonly why: string }[]
  /** What an earlier fit has left beside the values. */
  readonly companion: Definition | undefined
  /** Runs that the values contain so far, and that do not count here. */
  readonly forgotten: readonly string[]
  /** Constants that were changed by hand since a fit wrote them: they start from what is stated now. */
  readonly changed: readonly string[]
  /** The names of all constants that could be fitted. */
  readonly fittable: readonly string[]
}

export interface RunsFitOptions {
  /** Names of the constants to fit; all, without it. */
  readonly free?: readonly string[]
  /** Names of the constants to leave as they are stated. */
  readonly hold?: readonly string[]
  /**
   * Coolers named by the part's profiles; used only if no run names one. If there is just one, known points are taken to be
   * seen under it.
   */
  readonly coolers?: readonly Definition[]
  /** What an earlier fit has left beside the values: this one starts from what was known before that. */
  readonly companion?: Definition
}

/** Each run whose end says nothing, once, though several groups were at work. */
function unsaid(ends: readonly RunEnd[]): RunsFit['noEvidence'] {
  const why = new Map(ends.flatMap(({ run, found }) => (typeof found === 'string' ? [[run, found] as const] : [])))
  return [...why].map(([run, found]) => ({ run, why: found }))
}

/** The constant that is meant: where there is one cooler its name may stand behind `of`. */
function fullNames(names: readonly string[] | undefined, coolers: ReadonlyMap<string, Definition>) {
  const [only, ...more] = coolers.keys()
  return names?.map(name =>
    more.length === 0 && only !== undefined && name.endsWith(` of ${only}`)
      ? name.slice(0, -` of ${only}`.length)
      : name,
  )
}

/**
 * A fit, a few looks at a log at a time.
 * @param tell hears how far it is
 */
export function* fitRunsInSlices(
  part: Definition,
  runs: readonly ComparedRun[],
  options: RunsFitOptions = {},
  tell?: TellSteps,
): Slices<RunsFit> {
  const ofRuns = runs.flatMap(({ predicted }) => {
    const { cooler, part: own } = predicted?.evaluation.profile ?? {}
    return cooler !== undefined && own?.name === part.name ? [cooler] : []
  })
  // What is measured under other coolers says nothing of one that no run was made with.
  const found = new Map((ofRuns.length > 0 ? ofRuns : (options.coolers ?? [])).map(one => [one.name, one]))
  // The same runs give the same figures, in whatever order and from whichever file they come.
  const coolers = new Map([...found].sort(([one], [other]) => (one < other ? -1 : 1)))
  const [free, hold] = [fullNames(options.free, coolers), fullNames(options.hold, coolers)]
  const { value } = partConstants(part)
  const ends: RunEnd[] = []
  for (const run of runs) {
    if (run.predicted?.evaluation.profile.part?.name === part.name) ends.push(...(yield* endsOf(run)))
    yield
  }
  const asks = (name: string): boolean => (free === undefined || free.includes(name)) && hold?.includes(name) !== true
  const slopes = value === undefined ? [] : slopesOf(part, value, ends, asks)
  const stated = fitConstants({ part, coolers })
  // What is held stays as it is stated now, runs and all.
  const moving = stated.filter(({ name }) => free?.includes(name) !== false && hold?.includes(name) !== true)
  const { before, changed } = remembered(moving, options.companion)
  const request = { part, coolers, runs, before, ...(free && { free }), ...(hold && { hold }) }
  const result = yield* fitPart(request, tell)
  const sittings = 'sittings' in result ? result.sittings : []
  const used = sittings.flatMap(({ run }) =>
    run === undefined ? [] : [{ run: run.record.name, settings: run.settings }],
  )
  const counted = options.companion === undefined ? [] : fittedRecord(options.companion).runs
  return {
    part,
    coolers,
    result,
    residuals: 'sittings' in result ? yield* residualsIn(result) : [],
    odd: 'sittings' in result ? yield* oddIn(result) : [],
    misfiled: 'sittings' in result ? yield* misfiledIn(result, runs) : [],
    used,
    points: sittings.length - used.length,
    needsSlopes: slopes,
    noEvidence: unsaid(ends),
    companion: options.companion,
    forgotten: before.size === 0 ? [] : counted.filter(name => !used.some(({ run }) => run === name)),
    changed,
    fittable: [...stated.map(({ name }) => name), ...slopePlaces(part).map(({ name }) => name)],
  }
}

function* residualsIn({ sittings, posterior }: FitResult): Slices<readonly SittingResidual[]> {
  const found: SittingResidual[] = []
  for (const one of sittings) {
    found.push(residualOf(one, posterior))
    yield
  }
  return found
}

function* oddIn({ sittings, posterior }: FitResult): Slices<readonly OddReading[]> {
  const found: OddReading[] = []
  for (const sitting of sittings) {
    const independent = posterior.independent.get(sitting.evidence)
    yield* sitting.evidence.prepare?.(posterior.mode) ?? []
    if (independent !== undefined) found.push(...oddReadings(sitting, independent, posterior))
    yield
  }
  return found
}

/** Compares each run with what the profiles and loads of the others are predicted to do in its own air. */
function* misfiledIn(result: FitResult, runs: readonly ComparedRun[]): Slices<readonly Misfiled[]> {
  const { sittings } = result
  const made = runs.flatMap(({ record, predicted }) =>
    predicted === undefined || predicted.ofCourse !== undefined ? [] : [{ record, predicted }],
  )
  const byName = new Map(
    made.map(({ record: { profile, load }, predicted }) => [`${profile} ${load}`, { profile, load, predicted }]),
  )
  const others = function* (run: ComparedRun): Generator<Alternative> {
    for (const { profile, load, predicted } of byName.values()) {
      if (profile === run.record.profile && load === run.record.load) continue
      if (doubtedOf(predicted.evaluation.profile).length > 0) continue
      const moved = inAirOf(run, predicted)
      if (moved !== undefined) yield { profile, load, predicted: moved }
    }
  }
  const benches = new Map(
    sittings.flatMap(one => (one.coolerName === undefined ? [] : [[one.coolerName, one] as const])),
  )
  const warming = sittings.flatMap(one => (one.kind === 'log' ? [one.evidence.warming] : []))[0]
  return yield* misfiled(sittings, result, others, (run, predicted) => {
    const cooler = predicted.evaluation.profile.cooler?.name
    const bench = cooler === undefined ? undefined : benches.get(cooler)
    if (bench === undefined) return undefined
    const { benchAt, unknowns } = bench.evidence
    const found = sittingOf(
      run,
      () => ({ cooler: predicted.evaluation.input.bench?.cooler, benchAt, unknowns, warming }),
      predicted,
    )
    return typeof found === 'string' ? undefined : found
  })
}

/** What another run's profile and load are predicted to do in the air of this one. */
function inAirOf(run: ComparedRun, other: RunPrediction): RunPrediction | undefined {
  const { bench, assumed } = other.evaluation.input
  const own = run.predicted
  if (bench === undefined || own === undefined) return undefined
  const made = predictOne(bench, other.load, own.corner, assumed)
  return (
    made && {
      ...other,
      corner: own.corner,
      airUncertaintyK: own.airUncertaintyK,
      settled: made.settled,
      prediction: made,
    }
  )
}
