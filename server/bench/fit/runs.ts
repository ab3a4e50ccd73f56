/** A fit of the runs that were made with one part. */

import type { Cooler } from '../../model/types.ts'
import { coolerConstants, partConstants } from '../../semantic/constants.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { UncertainConstant } from '../../semantic/gather.ts'
import { quotedList } from '../../wording/counts.ts'
import type { Reading, Readings } from '../log/figures.ts'
import { bestFigure, type ComparedRun } from '../run/compared.ts'
import type { RunPrediction } from '../run/prediction.ts'
import type { RunSettings } from '../run/settings.ts'
import { logText, oddText, unmeasuredText, unsteadyText } from '../run/wording.ts'
import { longest, type SteadyWindow } from '../steady/stretches.ts'
import { type FitRequest, type FitResult, fitConstants, fitParameters, type NoFit } from './fit.ts'
import { type NeedsEvidence, type NeedsSlope, needsSlope, whyNoEvidence } from './needs-slope.ts'
import { constantOf, coolerParameters, partParameters } from './parameters.ts'
import type { FitPoint } from './point-model.ts'
import { withFittedWindows } from './windows.ts'

export interface RunsFit {
  readonly part: Definition
  /** The coolers that the runs were made with. */
  readonly coolers: ReadonlyMap<string, Definition>
  readonly result: FitResult | NoFit
  /** The runs that were taken, and whose settings they were compared with. */
  readonly used: readonly { readonly run: string; readonly settings: RunSettings }[]
  /** From runs that held and runs that stopped; undefined where it was not asked for. */
  readonly needsSlope: NeedsSlope | undefined
  /** Runs whose end says nothing of the needs, and why. */
  readonly noEvidence: readonly { readonly run: string; readonly why: string }[]
  /** The names of all constants that these runs could fit. */
  readonly fittable: readonly string[]
}

export interface RunsFitOptions {
  /** Names of the parameters to free; what the runs can tell, without it. */
  readonly free?: readonly string[]
}

type Point = FitRequest['points'][number]

interface Gathered {
  readonly points: Point[]
  readonly skipped: { readonly run: string; readonly why: string }[]
  readonly evidence: NeedsEvidence[]
  readonly noEvidence: { readonly run: string; readonly why: string }[]
  readonly used: { readonly run: string; readonly settings: RunSettings }[]
  readonly coolers: Map<string, Definition>
}

/** Why a run whose figures were to come from a log has none. */
function withoutFigures({ record, log, unsteady, windowS }: ComparedRun): string {
  if (log?.state === 'read' && log.rows === 0) return logText(log)
  if (unsteady !== undefined) return unsteadyText(unsteady, windowS)
  if (record.log === undefined) return unmeasuredText(record)
  return log === undefined ? 'its log is not read' : logText(log)
}

/** Stretches nearer to each other than this are of one level. */
const ONE_LEVEL = { clock: 0.005, power: 0.03 }

/**
 * The longest stretch of each level of a run. What a run has of its own, as a mounting or an evening, is the same in all
 * its stretches: two of one level would count it twice.
 */
function levels({ windows }: ComparedRun): readonly SteadyWindow[] {
  const kept: SteadyWindow[] = []
  for (let rest = windows, one = longest(rest); one !== undefined; one = longest(rest)) {
    const taken = one
    rest = rest.filter(other => other !== taken)
    const isApart = (other: SteadyWindow, figure: keyof typeof ONE_LEVEL): boolean => {
      const [a, b] = [taken.figures[figure]?.value, other.figures[figure]?.value]
      return a !== undefined && b !== undefined && Math.abs(a - b) > ONE_LEVEL[figure] * Math.abs(b)
    }
    if (kept.every(other => isApart(other, 'clock') || isApart(other, 'power'))) kept.push(taken)
  }
  return kept
}

/** Takes a run in. Returns why it cannot be used, if it cannot. */
function gatherRun(run: ComparedRun, partName: string, into: Gathered): string | undefined {
  const { record, predicted } = run
  if (predicted === undefined) return run.cannot ?? 'it cannot be predicted'
  const { part, cooler } = predicted.evaluation.profile
  if (part?.name !== partName || cooler === undefined) return `it was made with the part ${part?.name}`
  const { load } = predicted.load
  const { bench } = predicted.evaluation.input
  if (load.kind !== 'work' || bench === undefined) return 'a machine at rest says nothing of these constants'
  const byHand = Object.keys(record.measured).length > 0
  // A run with figures read off by hand is one point; else each level at which its log stood still is.
  const stretches: readonly Readings[] = byHand ? [run.figures] : levels(run).map(({ figures }) => figures)
  const [odd] = run.odd.filter(({ problem, from }) => problem !== 'still' && from === (byHand ? 'hand' : 'log'))
  if (odd !== undefined) return oddText(odd)
  if (stretches.length === 0) return withoutFigures(run)
  into.coolers.set(cooler.name, cooler)
  into.used.push({ run: record.name, settings: run.settings })
  for (const measured of stretches) {
    const point: FitPoint = {
      run: record.name,
      bench,
      load,
      corner: predicted.corner,
      airUncertaintyK: predicted.airUncertaintyK,
      measured,
    }
    into.points.push({ ...point, cooler: cooler.name })
  }
  const evidence = evidenceOf(run, predicted)
  if (typeof evidence === 'string') into.noEvidence.push({ run: record.name, why: evidence })
  else if (evidence !== undefined) into.evidence.push(evidence)
  return undefined
}

/** What a run says of the voltage needed: how it ended, at which voltage and temperature. Or why it says nothing of it. */
function evidenceOf(run: ComparedRun, predicted: RunPrediction): NeedsEvidence | string | undefined {
  const { record } = run
  const { load } = predicted.load
  const { part } = predicted.evaluation.input.bench ?? {}
  if (record.outcome === undefined || load.kind !== 'work' || part === undefined) return undefined
  const [clock, voltage, die] = (['clock', 'voltage', 'die'] as const).map(figure => bestFigure(run, figure))
  if (clock === undefined || voltage === undefined || die === undefined) return undefined
  const [value, standardUncertainty] = [clock.value, clock.standardUncertainty].map(ghz => ghz / part.referenceGhz)
  const ratio = { value, standardUncertainty } as Reading
  const held = record.outcome.kind === 'held'
  return whyNoEvidence(record.outcome, die.value, part) ?? { run: record.name, load, ratio, voltage, die, held }
}

const slopeName = 'needs-slope'

/** The constant that is meant: where there is one cooler its name may stand behind `of`. */
function fullName(name: string, coolers: ReadonlyMap<string, Cooler>): string {
  const [only, ...more] = coolers.keys()
  return more.length === 0 && name.endsWith(` of ${only}`) ? name.slice(0, -` of ${only}`.length) : name
}

/** Windows and constants follow from each other within this many rounds, or nearly so. */
const ROUNDS = 5

/**
 * Fits a part's constants, and those of its coolers, from runs that were compared with their predictions. Where the fitted
 * constants make the bench slower or quicker, steady stretches are looked for again until they agree with the constants: a
 * second fit from what was written then finds the same.
 */
export function fitRuns(part: Definition, runs: readonly ComparedRun[], options: RunsFitOptions = {}): RunsFit {
  let fit = fitOnce(part, runs, options)
  let own = runs
  for (let round = 1; round < ROUNDS && 'parameters' in fit.result; round++) {
    const others = withFittedWindows(fit.result, own)
    if (others === undefined) break
    own = others
    fit = fitOnce(part, own, options)
  }
  return fit
}

function lackText(part: string, missing: readonly string[], broken: readonly string[]): string {
  const list = (words: readonly string[]): string => quotedList([...new Set(words)])
  return missing.length > 0
    ? `the part ${part} lacks ${list(missing)}`
    : `${list(broken)} of part ${part} cannot be read`
}

function fitOnce(part: Definition, runs: readonly ComparedRun[], options: RunsFitOptions): RunsFit {
  const gathered: Gathered = { points: [], skipped: [], evidence: [], noEvidence: [], used: [], coolers: new Map() }
  for (const run of runs) {
    const why = gatherRun(run, part.name, gathered)
    if (why !== undefined) gathered.skipped.push({ run: run.record.name, why })
  }
  const { points, skipped, evidence, noEvidence, used, coolers } = gathered
  const { value, missing, broken } = partConstants(part)
  const values = new Map<string, Cooler>()
  const uncertain = new Map<string, number>()
  /** `part switching` becomes `part NAME switching`. */
  const note = (owner: string, { name, standardUncertainty }: UncertainConstant): void => {
    uncertain.set(name.replace(' ', ` ${owner} `), standardUncertainty)
  }
  for (const one of partConstants(part).uncertain) note(part.name, one)
  for (const [name, definition] of coolers) {
    const { value: cooler, uncertain: own } = coolerConstants(definition)
    if (cooler !== undefined) values.set(name, cooler)
    for (const one of own) note(name, one)
  }
  const named = options.free?.map(name => fullName(name, values))
  const asked = named === undefined || named.includes(slopeName)
  const slope = value !== undefined && asked ? needsSlope(value, evidence) : undefined
  const naming = values.size === 1 ? 'plain' : 'with-owner'
  const ofCoolers = [...values].flatMap(([name, cooler]) => coolerParameters(name, cooler, naming))
  const fittable = [...[...partParameters(part.name), ...ofCoolers].map(({ name }) => name), slopeName]
  const about = { part, coolers, used, needsSlope: slope, noEvidence, fittable }
  if (value === undefined || points.length === 0) {
    const why =
      value === undefined
        ? lackText(part.name, missing, broken)
        : runs.length === 0
          ? 'there is no run'
          : 'no run can be used'
    return { ...about, result: { why, skipped } }
  }
  const free = named?.filter(name => name !== slopeName)
  const request = { part: { name: part.name, value }, coolers: values, points, uncertain }
  const found =
    asked && free?.length === 0 ? withoutConstants(request) : fitConstants({ ...request, ...(free && { free }) })
  return { ...about, result: { ...found, skipped: [...skipped, ...found.skipped] } }
}

/** A fit of the needs' slope alone, which takes no part in the others'. */
function withoutConstants(request: FitRequest): FitResult {
  const nothing = { parameters: [], correlation: [], points: [], skipped: [], degreesOfFreedom: 0 }
  const held = fitParameters(request).map(parameter => {
    const cooler = request.coolers.get(parameter.owner) ?? [...request.coolers.values()][0]
    return {
      parameter,
      value: constantOf(parameter, request.part.value, cooler as Cooler),
      standardUncertainty: request.uncertain?.get(`${parameter.target} ${parameter.owner} ${parameter.label}`),
    }
  })
  return { ...nothing, held, residualSdW: Number.NaN, residualSdK: Number.NaN }
}
