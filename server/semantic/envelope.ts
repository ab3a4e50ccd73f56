/**
 * What a profile does at every number of active cores, not only at the numbers that its loads declare: a machine
 * passes through all of them, and a profile that holds at 4 and at 8 cores may fail at 5.
 */

import { keptWhile, onceFor } from '../../grammar/once.ts'
import {
  type Bench,
  type Corner,
  coresOf,
  groupSettings,
  isOn,
  isWork,
  type Load,
  type SettledState,
  settleState,
} from '../model/index.ts'
import type { Part, Profile } from '../model/types.ts'
import { activeCoresText, busyGroupsText } from '../wording/counts.ts'
import { isSameKind, type LoadConstants, loadConstants } from './constants.ts'
import { inCorners } from './corners.ts'
import type { Definition } from './definitions.ts'
import type { Evaluation } from './evaluate.ts'
import { keptPoints } from './kept-points.ts'
import { loadAt, pointsOf } from './load-cases.ts'

/** One load at one core count in one corner. */
export interface EnvelopePoint {
  /** The load's name; for a core count that no load declares, the load of this kind that comes nearest to it. */
  readonly name: string
  /** Absent for the built-in loads. */
  readonly definition: Definition | undefined
  /** The core counts that the load declares; undefined for the built-in loads. */
  readonly declared: { readonly from: number; readonly to: number } | undefined
  readonly load: Load
  /** Of a part with groups: how many cores of each are active, in words, and whether the load declares other numbers. */
  readonly active?: string
  readonly isForeign?: boolean
  readonly corner: Corner
  /** Without its margin, which no check of the whole envelope asks for. */
  readonly settled: SettledState
}

/** Loads that differ in nothing but their core counts. */
interface Kind {
  readonly loads: {
    readonly definition: Definition
    readonly constants: LoadConstants
    /** Core counts that it declares, of each group in the part's order. */
    readonly points: readonly (readonly number[])[]
  }[]
}

function kindsOf(definitions: readonly Definition[], part: Part): Kind[] {
  const kinds: Kind[] = []
  for (const definition of definitions) {
    const constants = loadConstants(definition).value
    // A load that is left out on this part is not looked at with other counts either.
    const points = constants && pointsOf(part, constants)
    if (constants === undefined || points === undefined || typeof points === 'string') continue
    const same = kinds.find(({ loads }) => loads[0] !== undefined && isSameKind(loads[0].constants, constants))
    if (same === undefined) kinds.push({ loads: [{ definition, constants, points }] })
    else same.loads.push({ definition, constants, points })
  }
  return kinds
}

/** How far a core count lies outside what a load declares, or the nearest of its points on a part with groups; 0 inside. */
function distance(part: Part, { constants, points }: Kind['loads'][number], point: readonly number[]): number {
  const [cores = 0] = point
  if (part.groups === undefined) return Math.max(0, constants.fromCores - cores, cores - constants.toCores)
  let nearest = Number.POSITIVE_INFINITY
  for (const other of points) {
    let away = 0
    for (let index = 0; index < other.length; index++) {
      away += Math.abs((other[index] as number) - (point[index] as number))
    }
    if (away < nearest) nearest = away
  }
  return nearest
}

/** The load that comes nearest to a point, the first of equally near ones, and how far it is from it. */
function nearestOf(
  part: Part,
  loads: Kind['loads'],
  point: readonly number[],
): { load: Kind['loads'][number]; away: number } {
  let load = loads[0] as Kind['loads'][number]
  let away = distance(part, load, point)
  for (let index = 1; index < loads.length && away > 0; index++) {
    const other = distance(part, loads[index] as Kind['loads'][number], point)
    if (other < away) [load, away] = [loads[index] as Kind['loads'][number], other]
  }
  return { load, away }
}

const total = (point: readonly number[]): number => point.reduce((sum, own) => sum + own, 0)

/** Every count of a group with the others idle and with the others full, and each mix of none and the ends of rows. */
function groupPoints(groups: NonNullable<Part['groups']>, profile: Profile): readonly (readonly number[])[] {
  const found = new Map<string, readonly number[]>()
  const add = (point: readonly number[]): void => {
    if (total(point) > 0) found.set(point.join(' '), point)
  }
  groups.forEach((own, at) => {
    for (let count = 1; count <= own.cores; count++) {
      add(groups.map((_, index) => (index === at ? count : 0)))
      add(groups.map(({ cores }, index) => (index === at ? count : cores)))
    }
  })
  let mixes: readonly (readonly number[])[] = [[]]
  groups.forEach(({ cores }, index) => {
    const { steps, bands } = groupSettings(profile, index)
    // A row is hottest, and its rail most loaded, with all the cores that it holds for.
    const ends = [...steps, ...bands].map(({ toCores }) => Math.min(toCores, cores))
    const counts = [0, ...new Set(ends.filter(count => count >= 1))]
    mixes = mixes.flatMap(mix => counts.map(count => [...mix, count]))
  })
  mixes.forEach(add)
  return [...found.values()].sort((a, b) => total(a) - total(b))
}

/** The numbers of active cores, of each group in the part's order, that a profile is looked at with. */
function countsOf({ part, profile }: Bench): readonly (readonly number[])[] {
  if (part.groups !== undefined) return groupPoints(part.groups, profile)
  return Array.from({ length: part.cores }, (_, index) => [index + 1])
}

/** `3 active cores of broad and 2 of small`; undefined where all cores are alike. */
function activeWords({ groups }: Part, point: readonly number[]): string | undefined {
  const counts = groups?.map(({ name }, index) => ({ group: name, cores: point[index] ?? 0 }))
  return counts && busyGroupsText(counts, activeCoresText)
}

/** How many cores of each group a load keeps busy; of a plain part all of them. */
function pointIn(load: Extract<Load, { readonly kind: 'work' }>): readonly number[] {
  return load.groups?.map(({ cores }) => cores) ?? [load.cores]
}

function compute({ profile, input, predictions }: Evaluation): EnvelopePoint[] {
  const { bench, corners } = input
  if (bench === undefined) return []
  const points: EnvelopePoint[] = []
  const known = new Map<string, SettledState[]>()
  for (const { load, settled } of predictions) {
    if (!isWork(load.load)) continue
    const key = `${load.name} ${pointIn(load.load).join(' ')}`
    const list = known.get(key)
    if (list === undefined) known.set(key, [settled])
    else list.push(settled)
  }
  const { part } = bench
  const kept = keptPoints(bench)
  const looked = countsOf(bench).map(at => ({ at, counts: at.join(' '), active: activeWords(part, at) }))
  for (const { loads } of kindsOf(profile.loads, part)) {
    for (const { at, counts, active } of looked) {
      const { load: nearest, away } = nearestOf(part, loads, at)
      const { definition, constants } = nearest
      const load = loadAt(part, constants, at)
      // Predictions stand in the order of the corners.
      const before = away === 0 ? known.get(`${definition.name} ${counts}`) : undefined
      const settled =
        before?.length === corners.length
          ? before
          : inCorners(bench, corners, corner => kept.of('state', load, corner, () => settleState(bench, load, corner)))
      const declared = { from: constants.fromCores, to: constants.toCores }
      const isForeign = away > 0
      corners.forEach((corner, index) => {
        const one = settled[index]
        if (one === undefined) return
        const point = { name: definition.name, definition, declared, load, corner, settled: one }
        points.push(active === undefined ? point : { ...point, active, isForeign })
      })
    }
  }
  kept.done()
  for (const { load, corner, settled } of predictions) {
    if (isWork(load.load)) continue
    points.push({ name: load.name, definition: undefined, declared: undefined, load: load.load, corner, settled })
  }
  return points
}

/** Evicted with the predictions, which profiles on one bench share; replaced when they see other loads. */
const computed = keptWhile<Evaluation['predictions'], readonly EnvelopePoint[]>()

/**
 * Every core count that a step row covers, for every kind of load among those declared, in every corner, and the
 * built-in loads. Computed when first asked for, once for profiles on one bench. Empty where something is missing.
 */
export const envelopeOf: (evaluation: Evaluation) => readonly EnvelopePoint[] = onceFor(evaluation => {
  const { profile, input, predictions } = evaluation
  const rests = [input.bench, input.corners, ...profile.loads]
  return computed.of(predictions, rests) ?? computed.keep(predictions, rests, compute(evaluation))
})

/**
 * What is found among the points of an envelope, once for all profiles that share it.
 * @param find may rest on the bench, its points and the loads, never on what else a profile states
 */
export function onceAmong<V>(
  find: (bench: Bench, points: readonly EnvelopePoint[], evaluation: Evaluation) => V,
): (evaluation: Evaluation) => V | undefined {
  /** Evicted with the envelope. */
  const kept = new WeakMap<readonly EnvelopePoint[], { readonly found: V }>()
  return evaluation => {
    const { bench } = evaluation.input
    if (bench === undefined) return undefined
    const points = envelopeOf(evaluation)
    const before = kept.get(points)
    if (before !== undefined) return before.found
    const found = find(bench, points, evaluation)
    kept.set(points, { found })
    return found
  }
}

const drivenAmong = onceAmong((_, points) => points.filter(point => isOn(point.load)))

/** The points at which the machine is on. */
export function pointsWhileOn(evaluation: Evaluation): readonly EnvelopePoint[] {
  return drivenAmong(evaluation) ?? []
}

/** Figures that differ by less are the same, and the first of them is named. */
export const sameValue = 1e-6

/**
 * The points with idle first, then those that a load declares, fewest cores first: of equally bad ones a person reads of
 * what they meet first and know.
 */
export function declaredFirst(points: readonly EnvelopePoint[]): readonly EnvelopePoint[] {
  const isForeign = ({ load, declared, isForeign: known }: EnvelopePoint): boolean => {
    if (known !== undefined) return known
    return isWork(load) && declared !== undefined && (load.cores < declared.from || load.cores > declared.to)
  }
  const ranked = points.map(point => ({ point, rank: coresOf(point.load) + (isForeign(point) ? 1e6 : 0) }))
  return ranked.sort((a, b) => a.rank - b.rank).map(({ point }) => point)
}

/**
 * The points that have something bad, in the order of `declaredFirst`, and how bad each is. Only these are put in order:
 * most often there are none.
 *
 * @param badness how bad a point is; undefined where there is nothing bad about it
 */
export function badAmong(
  points: readonly EnvelopePoint[],
  badness: (point: EnvelopePoint) => number | undefined,
): { readonly bad: readonly EnvelopePoint[]; readonly values: ReadonlyMap<EnvelopePoint, number> } {
  const values = new Map<EnvelopePoint, number>()
  for (const point of points) {
    const value = badness(point)
    if (value !== undefined) values.set(point, value)
  }
  return { bad: declaredFirst([...values.keys()]), values }
}

/**
 * The worst of some points, and all that have something bad.
 *
 * @param badness how bad a point is; undefined where there is nothing bad about it
 */
export function worstPoint(
  points: readonly EnvelopePoint[],
  badness: (point: EnvelopePoint) => number | undefined,
): { readonly point: EnvelopePoint; readonly value: number; readonly bad: readonly EnvelopePoint[] } | undefined {
  const { bad, values } = badAmong(points, badness)
  let worst: { point: EnvelopePoint; value: number } | undefined
  for (const point of bad) {
    const value = values.get(point) as number
    if (worst === undefined || value > worst.value + sameValue) worst = { point, value }
  }
  return worst === undefined ? undefined : { ...worst, bad }
}
