/** A part's constants, and those of its coolers, fitted to everything that was seen of them. */
import type { Cooler, Part } from '../../model/types.ts'
import { coolerConstants, partConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { knownPoints } from '../../semantic/known.ts'
import { quotedList } from '../../wording/counts.ts'
import { benchOf } from '../likelihood/constants.ts'
import {
  coolerPriors,
  NOBODY,
  type PriorConstant,
  partPriors,
  usualLoop,
  usualLoopPriors,
} from '../likelihood/priors.ts'
import { type Scatter, usualWarming } from '../likelihood/sitting.ts'
import type { ComparedRun } from '../run/compared.ts'
import type { Slices, Unknown } from '../statistics/independent.ts'
import type { Posterior } from '../statistics/posterior.ts'
import { fitEvidenceInSlices, type TellSteps } from './rounds.ts'
import { knownSitting, type Sitting, type SittingBench, sittingOf } from './sittings.ts'

/** What a fit is made of. */
export interface FitRequest {
  readonly part: Definition
  /** By name: those that the runs were made with, or that the part's profiles name. */
  readonly coolers: ReadonlyMap<string, Definition>
  readonly runs: readonly ComparedRun[]
  /** Names of the constants to fit; without it, all. */
  readonly free?: readonly string[]
  /** Names of the constants to leave as they are stated. */
  readonly hold?: readonly string[]
  /** What is known of constants before these runs, where that is not what the files state now. */
  readonly before?: ReadonlyMap<string, Pick<PriorConstant, 'value' | 'spread' | 'from'>>
}

export interface FittedConstant {
  /** With what was known of it before. */
  readonly constant: PriorConstant
  /** In base units: the median. */
  readonly value: number
  /** Of the value: its standard deviation as a share of it, times the value. */
  readonly standardUncertainty: number
  /** 95 %. */
  readonly interval: readonly [low: number, high: number]
  /** 1 − (s after / s before)², of the logarithm. */
  readonly learned: number
}

/** By how much the room warmed from the beginning of a log to its end, as all logs have it together. */
interface RoomWarming {
  readonly valueK: number
  readonly standardUncertaintyK: number
  /** 95 %. */
  readonly intervalK: readonly [low: number, high: number]
  /** 1 − (s after / s before)². */
  readonly learned: number
}

export interface FitResult {
  /** The constants that something here depends on, in the part's order and then the coolers'. */
  readonly constants: readonly FittedConstant[]
  /** Those that stay as they are stated; their uncertainty is in that of the others. */
  readonly held: readonly PriorConstant[]
  /** Those that nothing here depends on. */
  readonly untouched: readonly PriorConstant[]
  /** Of `constants`, row by row. */
  readonly correlation: readonly (readonly number[])[]
  readonly scatter: Scatter
  /** Undefined without logs. */
  readonly warming: RoomWarming | undefined
  readonly sittings: readonly Sitting[]
  readonly posterior: Posterior
  /** Runs and points that say nothing, and why. */
  readonly skipped: readonly { readonly run: string; readonly why: string }[]
}

/** No fit at all. */
export interface NoFit {
  readonly why: string
  readonly skipped: FitResult['skipped']
}

/** All constants that such a fit could move, with what is known of them before. */
export function fitConstants({
  part,
  coolers,
  before,
}: Pick<FitRequest, 'part' | 'coolers' | 'before'>): readonly PriorConstant[] {
  const naming = coolers.size === 1 ? 'plain' : 'with-owner'
  const all = [...partPriors(part), ...[...coolers.values()].flatMap(cooler => coolerPriors(cooler, naming))]
  return all.map(one => ({ ...one, ...before?.get(constantKey(one)) }))
}

/** The key of a constant, however it is shown: `part sample switching`. */
export const constantKey = ({ target, owner, label }: Pick<PriorConstant, 'target' | 'owner' | 'label'>): string =>
  `${target} ${owner} ${label}`

/**
 * A constant matters where one standard deviation of what is known of it moves a residual by more than this share of the
 * residual's own. Engineering judgement.
 */
const DEPENDS = 0.02

/** Whether any residual depends on each unknown. */
function* dependence(
  unknowns: readonly Unknown[],
  sittings: readonly Sitting[],
  mode: Float64Array,
): Slices<readonly boolean[]> {
  const found = unknowns.map(() => false)
  for (const { evidence } of sittings) {
    const { size } = evidence
    const [centre, moved] = [new Float64Array(size), new Float64Array(size)]
    const covariance = new Float64Array(size * size)
    if (!evidence.residuals(mode, centre)) continue
    yield* evidence.prepare?.(mode) ?? []
    evidence.covariance(mode, covariance)
    const at = Float64Array.from(mode)
    for (const index of evidence.unknowns) {
      if (found[index]) continue
      at[index] = (mode[index] as number) + (unknowns[index]?.sd ?? 0)
      const isThere = evidence.residuals(at, moved)
      yield
      at[index] = mode[index] as number
      found[index] =
        !isThere ||
        moved.some(
          (value, row) =>
            Math.abs(value - (centre[row] as number)) > DEPENDS * Math.sqrt(covariance[row * size + row] as number),
        )
    }
  }
  return found
}

interface Gathered {
  readonly constants: readonly PriorConstant[]
  readonly sittings: readonly Sitting[]
  readonly skipped: FitResult['skipped']
}

function* gather(request: FitRequest, value: Part): Slices<Gathered> {
  const { part, coolers, runs } = request
  const constants = [...fitConstants(request)]
  const values = new Map<string, Cooler>()
  const benches = new Map<string, SittingBench>()
  const points = knownPoints(part)
  const [only, ...more] = coolers
  const isPlain = only !== undefined && more.length === 0
  // Nobody says under which cooler known points were seen, so a usual one counts, and the fit says nothing about it.
  if (points.length > 0 && !isPlain) constants.push(...usualLoopPriors())
  const benchFor = (name: string, cooler: Cooler | undefined): SittingBench => {
    let bench = benches.get(name)
    if (bench === undefined) {
      const own = constants.flatMap((place, at) =>
        place.target === 'part' || place.owner === name ? [{ place, at }] : [],
      )
      bench = {
        cooler,
        benchAt: benchOf(value, cooler, own),
        unknowns: own.map(({ at }) => at),
        warming: constants.length,
      }
      benches.set(name, bench)
    }
    return bench
  }
  const sittings: Sitting[] = []
  const skipped: { run: string; why: string }[] = []
  const take = (name: string, found: Sitting | string): void => {
    if (typeof found === 'string') skipped.push({ run: name, why: found })
    else sittings.push(found)
  }
  for (const run of runs) {
    const { cooler, part: own } = run.predicted?.evaluation.profile ?? {}
    if (own !== undefined && own.name !== part.name) {
      skipped.push({ run: run.record.name, why: `it was made with the part ${own.name}` })
      continue
    }
    const bench = run.predicted?.evaluation.input.bench
    if (cooler !== undefined && bench !== undefined) values.set(cooler.name, bench.cooler)
    take(
      run.record.name,
      sittingOf(run, name => benchFor(name, values.get(name))),
    )
    yield
  }
  if (points.length > 0) {
    const name = isPlain ? only[0] : NOBODY
    const cooler = isPlain ? (values.get(name) ?? coolerConstants(only[1]).value) : usualLoop
    for (const point of points) {
      const shown = `known ${point.index + 1}`
      take(shown, knownSitting(point, value, shown, benchFor(name, cooler), isPlain ? name : undefined))
    }
  }
  return { constants, sittings, skipped }
}

function lackText(part: string, missing: readonly string[], broken: readonly string[]): string {
  const list = (words: readonly string[]): string => quotedList([...new Set(words)])
  return missing.length > 0
    ? `the part ${part} lacks ${list(missing)}`
    : `${list(broken)} of part ${part} cannot be read`
}

/** Fits what was asked for, in slices. Nothing is refused: a constant that the runs do not show keeps what was known of it before. */
export function* fitPart(request: FitRequest, tell?: TellSteps): Slices<FitResult | NoFit> {
  const { value, missing, broken } = partConstants(request.part)
  if (value === undefined) return { why: lackText(request.part.name, missing, broken), skipped: [] }
  const { constants, sittings, skipped } = yield* gather(request, value)
  if (sittings.length === 0) {
    const why =
      request.runs.length === 0 && skipped.length === 0 ? 'there is no run and no known point' : 'no run can be used'
    return { why, skipped }
  }
  const { free, hold } = request
  const isHeld = ({ name, owner }: PriorConstant): boolean =>
    owner !== NOBODY && ((free !== undefined && !free.includes(name)) || hold?.includes(name) === true)
  const isAnyLogged = sittings.some(({ kind }) => kind === 'log')
  const ofConstants = constants.map((one): Unknown => {
    const { value: median, spread } = one
    return { mean: Math.log(median), sd: spread, ...(isHeld(one) ? { held: true } : {}) }
  })
  const unknowns = isAnyLogged ? [...ofConstants, usualWarming] : ofConstants
  const inOrder = sittings.toSorted((one, other) => (one.name < other.name ? -1 : 1))
  const points = inOrder.filter(({ kind }) => kind === 'point').map(({ evidence }) => evidence)
  const logs = inOrder.flatMap(one => (one.kind === 'log' ? [one.evidence] : []))
  const found = yield* fitEvidenceInSlices(unknowns, points, logs, {}, tell)
  if (found === undefined) return { why: 'the model has no balance at what is known of the constants', skipped }
  const { posterior, scatter } = found
  const depends = yield* dependence(unknowns, sittings, posterior.mode)
  const indices = constants.flatMap((one, index) =>
    one.owner !== NOBODY && !isHeld(one) && depends[index] ? [index] : [],
  )
  return {
    constants: indices.map(index => fittedConstant(constants[index] as PriorConstant, index, posterior)),
    held: constants.filter((one, index) => isHeld(one) && depends[index]),
    untouched: constants.filter((one, index) => one.owner !== NOBODY && !isHeld(one) && !depends[index]),
    correlation: indices.map(i => indices.map(j => correlationAt(posterior, i, j))),
    scatter,
    warming: isAnyLogged ? warmingIn(posterior, constants.length) : undefined,
    sittings: sittings.toSorted((a, b) => order(a) - order(b)),
    posterior,
    skipped,
  }
}

/** Runs before points, each in their order. */
const order = ({ run }: Sitting): number => (run === undefined ? 1 : 0)

function correlationAt({ covariance, mode }: Posterior, i: number, j: number): number {
  const n = mode.length
  const at = (row: number, column: number): number => covariance[row * n + column] as number
  return i === j ? 1 : at(i, j) / Math.sqrt(at(i, i) * at(j, j))
}

/** What is known of one unknown in its own scale. */
function knownOf(index: number, { mean, covariance, draws }: Posterior) {
  const sorted = Float64Array.from(draws, draw => draw[index] as number).sort()
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] as number
  const spread = Math.sqrt(covariance[index * mean.length + index] as number)
  return { value: mean[index] as number, spread, interval: [at(0.025), at(0.975)] as const }
}

function fittedConstant(constant: PriorConstant, index: number, posterior: Posterior): FittedConstant {
  const { value: log, spread, interval } = knownOf(index, posterior)
  const value = Math.exp(log)
  return {
    constant,
    value,
    standardUncertainty: value * spread,
    interval: [Math.exp(interval[0]), Math.exp(interval[1])],
    learned: 1 - (spread / constant.spread) ** 2,
  }
}

function warmingIn(posterior: Posterior, index: number): RoomWarming {
  const { value, spread, interval } = knownOf(index, posterior)
  const learned = 1 - (spread / usualWarming.sd) ** 2
  return { valueK: value, standardUncertaintyK: spread, intervalK: interval, learned }
}
