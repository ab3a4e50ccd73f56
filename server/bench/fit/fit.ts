/**
 * Refits constants of a part, and of its coolers, from steady points of runs.
 *
 * For each point the clock and the die voltage are taken as measured; power, current and temperatures follow from the
 * model and are compared with what was measured. Residuals of power and current share one scale, those of temperatures
 * another, and both are found from the residuals themselves (`scales.ts`): what repeats itself badly counts less,
 * whatever the sensors' own scatter is. Standard uncertainties are of first order at the solution, intervals use
 * Student's t. Constants that are not free stay at their stated values; their `±` is carried to the others. One of the
 * part's, or one that should be fitted, that bears no `±` counts as known to a quarter of itself, which is judgement.
 */

import type { Cooler, Part } from '../../model/types.ts'
import type { FigureKind } from '../log/figures.ts'
import { type Undetermined, undetermined } from './identify.ts'
import { constantOf, coolerParameters, type FitParameter, partParameters, withValues } from './parameters.ts'
import { type CoolerSide, type FitPoint, inputsOf, type PointInputs, pointFigures } from './point-model.ts'
import { fitWithScales, type Observation, type ScaledFit, type ScaledProblem } from './scales.ts'

export interface FitRequest {
  readonly part: { readonly name: string; readonly value: Part }
  /** By name; each point's bench has one of them. */
  readonly coolers: ReadonlyMap<string, Cooler>
  readonly points: readonly (FitPoint & { readonly cooler: string })[]
  /** Stated standard uncertainties of constants, by kind, owner and label: `part sample leakage`. */
  readonly uncertain?: ReadonlyMap<string, number>
  /** Names of the parameters to free; all of the part, and those of coolers whose plate or coolant was measured, without it. */
  readonly free?: readonly string[]
}

export interface FittedParameter {
  readonly parameter: FitParameter
  /** In base units: fitted, or as stated where it was left alone. */
  readonly value: number
  readonly stated: number
  /** Only where it was fitted. */
  readonly standardUncertainty: number | undefined
  /** 95 %; only where it was fitted. */
  readonly interval: readonly [low: number, high: number] | undefined
  readonly fitted: boolean
  /** Why it was left alone. */
  readonly why: string | undefined
}

/** A constant that was not to be fitted, in base units, as it is stated. */
interface HeldConstant {
  readonly parameter: FitParameter
  readonly value: number
  readonly standardUncertainty: number | undefined
}

export interface PointResidual {
  readonly run: string
  readonly measured: Readonly<Partial<Record<FigureKind, number>>>
  readonly predicted: Readonly<Partial<Record<FigureKind, number>>>
}

export interface FitResult {
  readonly parameters: readonly FittedParameter[]
  /** The constants that were not asked for: what is fitted holds with them. */
  readonly held: readonly HeldConstant[]
  /** Of the fitted parameters in their order. */
  readonly correlation: readonly (readonly number[])[]
  readonly degreesOfFreedom: number
  /** Spread of the residuals of power, and of temperatures; NaN where there are too few. */
  readonly residualSdW: number
  readonly residualSdK: number
  readonly points: readonly PointResidual[]
  /** Points that say nothing, and why. */
  readonly skipped: readonly { readonly run: string; readonly why: string }[]
}

/** No fit at all. */
export interface NoFit {
  readonly why: string
  readonly skipped: FitResult['skipped']
}

/** The parameters that a request could free, in order of importance. */
export function fitParameters(request: FitRequest): readonly FitParameter[] {
  const naming = request.coolers.size === 1 ? 'plain' : 'with-owner'
  return [
    ...partParameters(request.part.name),
    ...[...request.coolers].flatMap(([name, cooler]) => coolerParameters(name, cooler, naming)),
  ]
}

/** Those that are freed unless others are named: a cooler's only where its temperatures were measured. */
function usualParameters(request: FitRequest): readonly FitParameter[] {
  const seen = (owner: string, kind: 'plate' | 'coolant'): boolean =>
    request.points.some(point => point.cooler === owner && point.measured[kind] !== undefined)
  return fitParameters(request).filter(({ target, owner, word }) => {
    if (target === 'part') return true
    return word === 'block-resistance' ? seen(owner, 'plate') && seen(owner, 'coolant') : seen(owner, 'coolant')
  })
}

const observedKinds = ['power', 'current', 'die', 'plate', 'coolant'] as const

type Usable = FitRequest['points'][number] & { readonly inputs: PointInputs }

/** A point needs a clock, and a power or a temperature to be compared with. */
function usable(request: FitRequest): { readonly points: readonly Usable[]; readonly skipped: FitResult['skipped'] } {
  const points: Usable[] = []
  const skipped: { run: string; why: string }[] = []
  for (const point of request.points) {
    const inputs = inputsOf(point)
    if (inputs === undefined) skipped.push({ run: point.run, why: 'no clock was measured' })
    else if (point.measured.power === undefined && point.measured.die === undefined)
      skipped.push({ run: point.run, why: 'neither power nor die temperature was measured' })
    else points.push({ ...point, inputs })
  }
  return { points, skipped }
}

/** The part and the coolers at some values of the free parameters. */
interface Trial {
  readonly part: Part
  readonly coolers: ReadonlyMap<string, Cooler>
}

function trialOf(request: FitRequest, free: readonly FitParameter[], values: readonly number[]): Trial {
  const pick = (target: 'part' | 'cooler', owner: string) => {
    const own = free.flatMap((parameter, index) =>
      parameter.target === target && parameter.owner === owner ? [[parameter, values[index] as number] as const] : [],
    )
    return [own.map(([parameter]) => parameter), own.map(([, value]) => value)] as const
  }
  const coolers = new Map<string, Cooler>()
  for (const [name, cooler] of request.coolers) {
    const own = pick('cooler', name)
    // The same object where nothing of it moves, so that what is prepared for it is found again.
    coolers.set(name, own[0].length === 0 ? cooler : withValues(cooler, ...own))
  }
  return { part: withValues(request.part.value, ...pick('part', request.part.name)), coolers }
}

function stated(request: FitRequest, { target, owner }: FitParameter): readonly [Part, Cooler] {
  const cooler = request.coolers.get(target === 'cooler' ? owner : ([...request.coolers.keys()][0] as string))
  return [request.part.value, cooler as Cooler]
}

interface Fit extends ScaledFit {
  readonly free: readonly FitParameter[]
}

const byFigure: Readonly<Record<(typeof observedKinds)[number], keyof NonNullable<ReturnType<typeof pointFigures>>>> = {
  power: 'powerW',
  current: 'currentA',
  die: 'dieC',
  plate: 'plateC',
  coolant: 'coolantC',
}

/** What is compared with the model: in `as-measured`, plate and coolant are given and not asked for. */
function observationsOf(points: readonly Usable[], side: CoolerSide): readonly Observation[] {
  return points.flatMap((point, index) =>
    observedKinds.flatMap((kind): Observation[] => {
      const reading = point.measured[kind]
      if (reading === undefined || (side === 'as-measured' && (kind === 'plate' || kind === 'coolant'))) return []
      return [{ point: index, kind, group: kind === 'power' || kind === 'current' ? 'electrical' : 'thermal', reading }]
    }),
  )
}

const sideOf = (free: readonly FitParameter[]): CoolerSide =>
  free.some(({ target }) => target === 'cooler') ? 'predicted' : 'as-measured'

/** A constant of the part that bears no `±` is known to this share of itself; judgement. */
const UNSTATED_SHARE = 0.25

const uncertaintyOf = ({ uncertain }: FitRequest, { target, owner, label }: FitParameter): number | undefined =>
  uncertain?.get(`${target} ${owner} ${label}`)

/** The same request with one constant that is held moved by its standard uncertainty; none for those that are known. */
function movedRequests(request: FitRequest, free: readonly FitParameter[], wanted: readonly FitParameter[]) {
  return fitParameters(request).flatMap((parameter): FitRequest[] => {
    const value = constantOf(parameter, ...stated(request, parameter))
    const isLoose = parameter.target === 'part' || wanted.some(({ name }) => name === parameter.name)
    const by = uncertaintyOf(request, parameter) ?? (isLoose ? UNSTATED_SHARE * Math.abs(value) : 0)
    if (!(by > 0) || free.some(({ name }) => name === parameter.name)) return []
    const { part, coolers } = trialOf(request, [parameter], [value + by])
    return [{ ...request, part: { ...request.part, value: part }, coolers }]
  })
}

function fitOnce(
  request: FitRequest,
  points: readonly Usable[],
  free: readonly FitParameter[],
  wanted: readonly FitParameter[],
): Fit | undefined {
  const side = sideOf(free)
  const observations = observationsOf(points, side)
  const predictFrom = (
    from: FitRequest,
    values: readonly number[],
    moved?: { readonly point: number; readonly inputs: PointInputs },
  ): number[] | undefined => {
    if (values.some((value, index) => !(value >= (free[index] as FitParameter).least))) return undefined
    const { part, coolers } = trialOf(from, free, values)
    const predicted: number[] = []
    let at = 0
    for (let index = 0; index < points.length; index++) {
      const first = at
      while (observations[at]?.point === index) at++
      if (moved !== undefined && moved.point !== index) continue
      const point = points[index] as Usable
      const inputs = moved?.inputs ?? point.inputs
      const figures = pointFigures(point, part, coolers.get(point.cooler) as Cooler, side, inputs)
      if (figures === undefined) return undefined
      for (let own = first; own < at; own++) predicted.push(figures[byFigure[(observations[own] as Observation).kind]])
    }
    return predicted
  }
  const start = free.map(parameter => constantOf(parameter, ...stated(request, parameter)))
  const predict: ScaledProblem['predict'] = (values, moved) => predictFrom(request, values, moved)
  const held = movedRequests(request, free, wanted).map(
    other => (values: readonly number[]) => predictFrom(other, values),
  )
  const found = fitWithScales({ observations, points, predict, start, held })
  return found && { free, ...found }
}

/** Why a parameter is left alone, in words. */
function whyOf(found: Undetermined, names: readonly string[]): string {
  const percent = (value: number): string => `${Math.round(100 * value)} %`
  switch (found.reason) {
    case 'no-effect':
      return 'nothing in these runs depends on it'
    case 'too-little':
      return `these runs say too little about it: its standard uncertainty would be ${percent(found.share)} of its value`
    case 'together': {
      const others = found.others.map(index => names[index]).join(' and ')
      const r = Math.min(found.correlation, 0.99999).toFixed(found.correlation > 0.999 ? 5 : 3)
      return `cannot be separated from ${others} with these runs (multiple correlation ${r})`
    }
  }
}

/** Why there are too few figures; what is given rather than asked for is not among them. */
function tooFew(points: readonly Usable[], observed: number, side: CoolerSide): string {
  const isGiven =
    side === 'as-measured' && points.some(({ measured: { plate, coolant } }) => (plate ?? coolant) !== undefined)
  const figures = `${observed} figure${observed === 1 ? '' : 's'}`
  const given = isGiven ? ' (plate and coolant are taken as given)' : ''
  return `only ${figures} to fit to${given}, and no more figures than constants leaves nothing to judge the scatter by`
}

/**
 * Fits what the runs can tell.
 * Parameters are left alone one after the other until the rest are separable (`identify.ts`); each says why.
 */
export function fitConstants(request: FitRequest): FitResult | NoFit {
  const { points, skipped } = usable(request)
  const all = fitParameters(request)
  const wanted =
    request.free === undefined ? usualParameters(request) : all.filter(({ name }) => request.free?.includes(name))
  if (points.length === 0)
    return { why: 'no run has a steady point with a clock and a power or a temperature', skipped }
  if (wanted.length === 0) return { why: 'no parameter to fit was named', skipped }
  const why = new Map<string, string>()
  let free = wanted
  let best: Fit | undefined
  const leave = (parameter: FitParameter, reason: string): void => {
    why.set(parameter.name, reason)
    free = free.filter(other => other !== parameter)
  }
  while (free.length > 0) {
    const last = free.at(-1) as FitParameter
    const observed = observationsOf(points, sideOf(free)).length
    if (observed <= free.length) {
      leave(last, tooFew(points, observed, sideOf(free)))
      continue
    }
    const tried = fitOnce(request, points, free, wanted)
    if (tried === undefined) {
      leave(last, 'the model has no balance at the stated constants')
      continue
    }
    const { jacobian, parameters, residualSd } = tried.found
    const spread = Number.isNaN(residualSd) ? 1 : residualSd
    // A value that goes to nothing is judged by the one that was stated.
    const sizes = free.map((parameter, index) =>
      Math.max(Math.abs(parameters[index] as number), Math.abs(constantOf(parameter, ...stated(request, parameter)))),
    )
    const lost = undetermined({ rows: jacobian, values: sizes, residualSd: spread })
    if (lost !== undefined) {
      leave(
        free[lost.index] as FitParameter,
        whyOf(
          lost,
          free.map(({ name }) => name),
        ),
      )
      continue
    }
    // Runs that contradict the stated value do know it, however near to zero it is.
    const isAsStated = (index: number): boolean => {
      const own = constantOf(free[index] as FitParameter, ...stated(request, free[index] as FitParameter))
      return Math.abs((parameters[index] as number) - own) <= (tried.reachOf[index] as number)
    }
    const isWithin = (index: number): boolean =>
      Math.abs(tried.beyond[index] as number) <= 1.5 * (tried.reachOf[index] as number)
    const bound = free.findLast(({ least }, index) => {
      const value = parameters[index] as number
      const isAt = value - least < 1e-3 * ((sizes[index] as number) - least)
      return isAt && (least > 0 || isAsStated(index) || !isWithin(index))
    })
    if (bound !== undefined) {
      const index = free.indexOf(bound)
      const lowest = bound.least < 1 ? 'nothing' : `its lowest value, ${bound.least}`
      // Where it would go without the bound is within its uncertainty, or it is not.
      leave(
        bound,
        isWithin(index)
          ? `within its uncertainty these runs do not tell it from ${lowest}`
          : `these runs would drive it to ${lowest}: something else is wrong`,
      )
      continue
    }
    // Constants held fixed and few figures make intervals wide: one that reaches from nothing to twice the value says nothing.
    const shares = free.map((_, index) => {
      const share = (tried.reachOf[index] as number) / Math.abs(parameters[index] as number)
      return share > 1 && !isAsStated(index) ? 1 : share
    })
    if (!tried.reachOf.every(Number.isFinite)) {
      leave(last, 'its uncertainty cannot be estimated')
      continue
    }
    const widest = shares.indexOf(Math.max(...shares))
    const share = shares[widest] as number
    if (share > 1) {
      const reach = `its 95 % interval is ± ${Math.round(100 * share)} % of its value`
      leave(free[widest] as FitParameter, `these runs say too little about it: ${reach}`)
      continue
    }
    if (!tried.found.converged) {
      leave(last, 'the fit did not settle with it')
      continue
    }
    best = tried
    break
  }
  if (best === undefined) {
    const reasons = [...new Set([...why.values()].reverse())].map(reason => {
      const names = wanted.flatMap(({ name }) => (why.get(name) === reason ? [name] : []))
      return `${names.join(', ')}: ${reason}`
    })
    return { why: reasons.join('; '), skipped }
  }
  return resultOf(request, points, skipped, wanted, best, why)
}

function resultOf(
  request: FitRequest,
  points: readonly Usable[],
  skipped: FitResult['skipped'],
  wanted: readonly FitParameter[],
  { free, found, standardUncertainties, correlation, reachOf, sdOf }: Fit,
  why: ReadonlyMap<string, string>,
): FitResult {
  const parameters = wanted.map((parameter): FittedParameter => {
    const own = constantOf(parameter, ...stated(request, parameter))
    const index = free.indexOf(parameter)
    if (index < 0) {
      const left = { value: own, standardUncertainty: undefined, interval: undefined, fitted: false }
      return { parameter, stated: own, ...left, why: why.get(parameter.name) }
    }
    const value = found.parameters[index] as number
    const u = standardUncertainties[index] as number
    const reach = reachOf[index] as number
    const interval = [value - reach, value + reach] as const
    return { parameter, value, stated: own, standardUncertainty: u, interval, fitted: true, why: undefined }
  })
  const { part, coolers } = trialOf(request, free, found.parameters)
  const side = sideOf(free)
  const held = fitParameters(request).flatMap((parameter): HeldConstant[] => {
    if (wanted.some(({ name }) => name === parameter.name)) return []
    const own = constantOf(parameter, ...stated(request, parameter))
    return [{ parameter, value: own, standardUncertainty: uncertaintyOf(request, parameter) }]
  })
  return {
    parameters,
    held,
    correlation,
    degreesOfFreedom: found.degreesOfFreedom,
    residualSdW: sdOf.electrical,
    residualSdK: sdOf.thermal,
    points: points.map(point => {
      const figures = pointFigures(point, part, coolers.get(point.cooler) as Cooler, side, point.inputs)
      const measured: Partial<Record<FigureKind, number>> = {}
      const predicted: Partial<Record<FigureKind, number>> = {}
      for (const kind of observedKinds) {
        const reading = point.measured[kind]
        const value = figures?.[byFigure[kind]]
        if (reading !== undefined) measured[kind] = reading.value
        if (reading !== undefined && value !== undefined && !Number.isNaN(value)) predicted[kind] = value
      }
      return { run: point.run, measured, predicted }
    }),
    skipped,
  }
}
