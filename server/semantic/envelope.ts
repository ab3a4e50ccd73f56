/**
 * What a profile does at every number of active cores, not only at the numbers that its loads declare: a machine
 * passes through all of them, and a profile that holds at 4 and at 8 cores may fail at 5.
 */

import { onceFor } from '../../grammar/once.ts'
import { type Corner, coresOf, isWork, type Load, type SettledState, settleState } from '../model/index.ts'
import { isSameWork, type LoadConstants, loadConstants, type WorkKind } from './constants.ts'
import { inCorners } from './corners.ts'
import type { Definition } from './definitions.ts'
import type { Evaluation } from './evaluate.ts'

/** One load at one core count in one corner. */
export interface EnvelopePoint {
  /** The load's name; for a core count that no load declares, the load of this kind that comes nearest to it. */
  readonly name: string
  /** Absent for the built-in loads. */
  readonly definition: Definition | undefined
  /** The core counts that the load declares; undefined for the built-in loads. */
  readonly declared: { readonly from: number; readonly to: number } | undefined
  readonly load: Load
  readonly corner: Corner
  /** Without its margin, which no check of the whole envelope asks for. */
  readonly settled: SettledState
}

/** Loads that differ in nothing but their core counts. */
interface Kind {
  readonly work: WorkKind
  readonly loads: { readonly definition: Definition; readonly constants: LoadConstants }[]
}

function kindsOf(definitions: readonly Definition[]): Kind[] {
  const kinds: Kind[] = []
  for (const definition of definitions) {
    const constants = loadConstants(definition).value
    if (constants === undefined) continue
    const { work } = constants
    const same = kinds.find(kind => isSameWork(kind.work, work))
    if (same === undefined) kinds.push({ work, loads: [{ definition, constants }] })
    else same.loads.push({ definition, constants })
  }
  return kinds
}

/** How far a core count lies outside what a load declares; 0 inside. */
function distance(constants: LoadConstants, cores: number): number {
  return Math.max(0, constants.fromCores - cores, cores - constants.toCores)
}

function compute({ profile, input, predictions }: Evaluation): EnvelopePoint[] {
  const { bench, corners } = input
  if (bench === undefined) return []
  const points: EnvelopePoint[] = []
  const known = new Map<string, SettledState[]>()
  for (const { load, settled } of predictions) {
    if (!isWork(load.load)) continue
    const key = `${load.name} ${load.load.cores}`
    const list = known.get(key)
    if (list === undefined) known.set(key, [settled])
    else list.push(settled)
  }
  for (const { work, loads } of kindsOf(profile.loads)) {
    for (let cores = 1; cores <= bench.part.cores; cores++) {
      const { definition, constants } = loads.reduce((best, other) =>
        distance(other.constants, cores) < distance(best.constants, cores) ? other : best,
      )
      const load: Load = { kind: 'work', cores, ...work }
      // Predictions stand in the order of the corners.
      const before = distance(constants, cores) === 0 ? known.get(`${definition.name} ${cores}`) : undefined
      const settled =
        before?.length === corners.length
          ? before
          : inCorners(bench, corners, corner => settleState(bench, load, corner))
      const declared = { from: constants.fromCores, to: constants.toCores }
      corners.forEach((corner, index) => {
        const one = settled[index]
        if (one !== undefined) points.push({ name: definition.name, definition, declared, load, corner, settled: one })
      })
    }
  }
  for (const { load, corner, settled } of predictions) {
    if (isWork(load.load)) continue
    points.push({ name: load.name, definition: undefined, declared: undefined, load: load.load, corner, settled })
  }
  return points
}

/**
 * Every core count that a step row covers, for every kind of load among those declared, in every corner, and the
 * built-in loads. Computed when first asked for, once an evaluation. Empty where something is missing.
 */
export const envelopeOf: (evaluation: Evaluation) => readonly EnvelopePoint[] = onceFor(compute)

/** Figures that differ by less are the same, and the first of them is named. */
export const sameValue = 1e-6

/**
 * The points with idle first, then those that a load declares, fewest cores first: of equally bad ones a person reads of
 * what they meet first and know.
 */
export function declaredFirst(points: readonly EnvelopePoint[]): readonly EnvelopePoint[] {
  const isForeign = ({ load, declared }: EnvelopePoint): boolean => {
    return isWork(load) && declared !== undefined && (load.cores < declared.from || load.cores > declared.to)
  }
  const rank = (point: EnvelopePoint): number => coresOf(point.load) + (isForeign(point) ? 1e6 : 0)
  return [...points].sort((a, b) => rank(a) - rank(b))
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
  let worst: { point: EnvelopePoint; value: number } | undefined
  const bad: EnvelopePoint[] = []
  for (const point of declaredFirst(points)) {
    const value = badness(point)
    if (value === undefined) continue
    bad.push(point)
    if (worst === undefined || value > worst.value + sameValue) worst = { point, value }
  }
  return worst === undefined ? undefined : { ...worst, bad }
}
