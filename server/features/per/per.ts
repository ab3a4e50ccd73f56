/** What small changes would do to a load, and which constants are worth measuring next. */

import { type Settled, settle } from '../../model/index.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import type { Prediction } from '../../semantic/predict.ts'
import { settlingConstants, shiftConstants, unitShift } from '../../semantic/shifts.ts'
import { worstOfLoads } from '../worst-corners.ts'
import { type Change, changesFor } from './changes.ts'

/** Differences from the figures now; null where one side has no such figure. */
export interface Differences {
  readonly clockMhz: number | null
  readonly powerW: number | null
  readonly dieC: number | null
  readonly marginW: number | null
}

/** What one change does to one load. */
export interface Effect {
  readonly load: string
  readonly change: Pick<Change, 'name' | 'amount' | 'unit'>
  readonly more: Differences
  /** The same of as much less; null where there is no such side. */
  readonly less: Differences | null
  /** The two sides differ by more than double: a level of the ladder lies between, or a limit. */
  readonly isJump: boolean
}

/** Whose uncertainty makes the clock uncertain: in squared MHz, all loads together. */
export interface ShareOfClock {
  readonly definition: string
  readonly key: string
  readonly variance: number
}

/** Differences that no instrument tells apart make no jump. */
const leastTold: Differences = { clockMhz: 1, powerW: 0.1, dieC: 0.05, marginW: 0.1 }
const figures = ['clockMhz', 'powerW', 'dieC', 'marginW'] as const

function differences(now: Settled, then: Settled | null): Differences {
  const of = (figure: (typeof figures)[number]): number | null => {
    const [a, b] = [now[figure], then?.[figure] ?? null]
    return a === null || b === null ? null : b - a
  }
  return { clockMhz: of('clockMhz'), powerW: of('powerW'), dieC: of('dieC'), marginW: of('marginW') }
}

/** Whether one side moves a figure more than twice as far as the other moves it back. */
function jumps(more: Differences, less: Differences | null): boolean {
  if (less === null) return false
  return figures.some(figure => {
    const [up, down] = [more[figure], less[figure]]
    if (up === null || down === null) return up !== down
    const [far, near] = Math.abs(up) > Math.abs(down) ? [up, -down] : [-down, up]
    // A side that does not answer, or answers the wrong way, is as unlike as can be.
    return Math.abs(far) > (leastTold[figure] ?? 0) && (far * near <= 0 || far / near > 2)
  })
}

const size = (value: number | null): number => (value === null ? Number.POSITIVE_INFINITY : Math.abs(value))

function effectOf(evaluation: Evaluation, prediction: Prediction, change: Change): Effect | undefined {
  const { bench } = evaluation.input
  if (bench === undefined) return undefined
  const { load, corner, settled } = prediction
  const side = (times: 1 | -1): Differences | null => {
    const changed = change.apply({ bench, corner }, times)
    return changed === undefined ? null : differences(settled, settle(changed.bench, load.load, changed.corner))
  }
  const more = side(1)
  if (more === null) return undefined
  const less = side(-1)
  const { name, amount, unit } = change
  return { load: load.name, change: { name, amount, unit }, more, less, isJump: jumps(more, less) }
}

/** What each change does to a load in a corner: what moves the clock most first, then what moves the margin. */
function effectsOf(evaluation: Evaluation, prediction: Prediction): readonly Effect[] {
  const { bench } = evaluation.input
  if (bench === undefined) return []
  const { load, corner } = prediction
  const found = changesFor({ bench, corner }, load.load).flatMap(
    change => effectOf(evaluation, prediction, change) ?? [],
  )
  const far = (effect: Effect, figure: 'clockMhz' | 'marginW'): number =>
    // Idle has no clock, before or after: that is no change of it.
    prediction.settled[figure] === null && effect.more[figure] === null ? 0 : size(effect.more[figure])
  const less = (a: number, b: number): number => (a === b ? 0 : b - a)
  return found.sort(
    (a, b) => less(far(a, 'clockMhz'), far(b, 'clockMhz')) || less(far(a, 'marginW'), far(b, 'marginW')),
  )
}

/** The variance of a load's clock by each constant with `±` or a usual value: to first order, each by itself. */
function clockShares({ input, profile }: Evaluation, { load, corner }: Prediction): readonly ShareOfClock[] {
  const { bench } = input
  if (bench === undefined || load.load.kind !== 'work') return []
  const constants = settlingConstants(input, load.name)
  return constants.flatMap((constant, index) => {
    const clock = (times: number): number | null => {
      const shifts = constants.map((_, at) => (at === index ? times * unitShift(constant) : 0))
      const moved = shiftConstants(bench, load.load, constants, shifts)
      return settle(moved.bench, moved.load, corner)?.clockMhz ?? null
    }
    const [up, down] = [clock(1), clock(-1)]
    if (up === null || down === null) return []
    const [kind = '', ...words] = constant.name.split(' ')
    const named = { part: profile.part, cooler: profile.cooler, room: profile.room, board: profile.board }[kind]
    return [{ definition: named?.name ?? load.name, key: words.join(' '), variance: ((up - down) / 2) ** 2 }]
  })
}

/** The constants by their share of the clock's variance, the largest first, those without any left out. */
export function measureNext(
  shares: readonly ShareOfClock[],
): readonly { readonly definition: string; readonly key: string; readonly share: number }[] {
  const total = shares.reduce((sum, { variance }) => sum + variance, 0)
  if (!(total > 0)) return []
  const byName = new Map<string, ShareOfClock>()
  for (const one of shares) {
    const name = `${one.definition} ${one.key}`
    const before = byName.get(name)
    byName.set(name, { ...one, variance: one.variance + (before?.variance ?? 0) })
  }
  return [...byName.values()]
    .filter(({ variance }) => variance > 0)
    .sort((a, b) => b.variance - a.variance)
    .map(({ definition, key, variance }) => ({ definition, key, share: variance / total }))
}

/** The effects on one load, in its worst corner. */
export interface PerLoad {
  readonly prediction: Prediction
  readonly effects: readonly Effect[]
}

export interface PerProfile {
  readonly loads: readonly PerLoad[]
  readonly shares: readonly ShareOfClock[]
}

/** What small changes would do to each load of a profile, and whose uncertainty counts; one load a step. */
export function* perInSlices(evaluation: Evaluation): Generator<undefined, PerProfile> {
  const loads: PerLoad[] = []
  const shares: ShareOfClock[] = []
  for (const prediction of worstOfLoads(evaluation)) {
    loads.push({ prediction, effects: effectsOf(evaluation, prediction) })
    yield
    shares.push(...clockShares(evaluation, prediction))
    yield
  }
  return { loads, shares }
}
