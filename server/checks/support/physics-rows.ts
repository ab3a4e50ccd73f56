/** Where findings about what a load settles at stand: at the step row that covers its core count. */

import { isWork } from '../../model/index.ts'
import { counts, quantity } from '../../semantic/definitions.ts'
import { type badAmong, type EnvelopePoint, envelopeOf, sameValue } from '../../semantic/envelope.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupViews } from '../../semantic/group-view.ts'
import { type Sourced, tableRows } from '../../semantic/profile.ts'
import type { Place } from '../types.ts'
import { namePlace, settingPlace } from './place.ts'

/** The first row of `steps` that covers a core count, which is the one that counts. */
export function stepRow({ profile }: Evaluation, cores: number): Sourced | undefined {
  return tableRows(profile, 'steps').find(({ match }) => {
    const range = counts(match, 'cores')
    return range !== undefined && cores >= range.from && cores <= range.to
  })
}

/** The same for a load: on a part with groups the row of the first one that has active cores. */
function rowOfLoad(evaluation: Evaluation, load: EnvelopePoint['load']): Sourced | undefined {
  if (!isWork(load)) return undefined
  const at = load.groups?.findIndex(({ cores }) => cores > 0) ?? -1
  const busy = load.groups?.[at]
  if (busy === undefined) return stepRow(evaluation, load.cores)
  const profile = groupViews(evaluation.profile)[at]
  return profile && stepRow({ ...evaluation, profile }, busy.cores)
}

/** The ratio of a step row as written. */
export function rowRatio({ match }: Sourced): number {
  return quantity(match, 'ratio')?.value ?? Number.NaN
}

/** Points that share the row that decides them: a step row, or none for the built-in loads. */
export interface RowGroup {
  readonly row: Sourced | undefined
  readonly at: Place
  /** Every point of the row, whether it has the finding or not. */
  readonly points: readonly EnvelopePoint[]
  /** Those that have it, the worst first. */
  readonly bad: readonly EnvelopePoint[]
  readonly worst: EnvelopePoint
}

/**
 * The points of the envelope that have a finding, by the row that decides them, each group with its worst point.
 *
 * @param among those that have it, of `badAmong`
 */
export function groupByRow(
  evaluation: Evaluation,
  among: ReturnType<typeof badAmong> | undefined,
): readonly RowGroup[] {
  if (among === undefined || among.bad.length === 0) return []
  const { bad, values } = among
  const found = bad.map(point => ({ point, value: values.get(point) as number }))
  const rows = new Map<string, Sourced | undefined>()
  const rowOf = ({ load }: EnvelopePoint): Sourced | undefined => {
    if (!isWork(load)) return undefined
    const key = load.groups?.map(({ cores }) => cores).join(' ') ?? `${load.cores}`
    if (!rows.has(key)) rows.set(key, rowOfLoad(evaluation, load))
    return rows.get(key)
  }
  const groups = new Map<Sourced['match'] | undefined, { row: Sourced | undefined; bad: typeof found }>()
  for (const one of found) {
    const row = rowOf(one.point)
    const group = groups.get(row?.match)
    if (group === undefined) groups.set(row?.match, { row, bad: [one] })
    else group.bad.push(one)
  }
  return [...groups.values()].map(({ row, bad: unsorted }) => {
    const most = Math.max(...unsorted.map(({ value }) => value)) - sameValue
    const rest = unsorted.toSorted((a, b) => b.value - a.value).map(({ point }) => point)
    const worst = (unsorted.find(({ value }) => value >= most) as (typeof unsorted)[number]).point
    return {
      row,
      at: settingPlace(evaluation.profile, row ?? evaluation.profile.key('cooler')),
      points: envelopeOf(evaluation).filter(point => rowOf(point)?.match === row?.match),
      bad: [worst, ...rest.filter(point => point !== worst)],
      worst,
    }
  })
}

/** The place of a key of the profile, of the first of these that it has; else the profile's name. */
export function keyPlace({ profile }: Evaluation, ...words: readonly string[]): Place {
  for (const word of words) {
    const sourced = profile.key(word)
    if (sourced !== undefined) return settingPlace(profile, sourced)
  }
  return namePlace(profile.definition)
}

/** The fields that name where a finding comes from, for the outputs. */
export function originOf(evaluation: Evaluation, point: EnvelopePoint): { load: string; room?: string } {
  const room = evaluation.profile.room?.name
  return room === undefined ? { load: point.name } : { load: point.name, room }
}
