/** Places on an axis of active cores: each core count, of each group of a part that has several kinds of cores. */

import type { Load } from '../../model/index.ts'
import { loadConstants } from '../../semantic/constants.ts'
import { loadAt } from '../../semantic/load-cases.ts'
import { type Case, fullActivity, type Scene } from './scene.ts'

/** So many active cores of one group while the others are idle. */
export interface CoreSlot {
  /** Where it stands on the axis: for a plain part the count itself. */
  readonly at: number
  readonly cores: number
  /** Undefined where all cores are alike. */
  readonly group: string | undefined
  readonly rail: string | undefined
}

/** Every core count of a scene, group after group. @param only these counts @param groups of these groups alone */
export function coreSlots(
  { bench: { part } }: Scene,
  only?: readonly [from: number, to: number],
  groups?: readonly string[],
): readonly CoreSlot[] {
  const isWanted = (cores: number): boolean => only === undefined || (cores >= only[0] && cores <= only[1])
  const upTo = (cores: number): number[] => Array.from({ length: cores }, (_, index) => index + 1).filter(isWanted)
  if (part.groups === undefined)
    return upTo(part.cores).map(cores => ({ at: cores, cores, group: undefined, rail: undefined }))
  return part.groups
    .filter(({ name }) => groups === undefined || groups.includes(name))
    .flatMap(({ name, rail, cores }) => upTo(cores).map(count => ({ cores: count, group: name, rail })))
    .map((slot, index) => ({ at: index + 1, ...slot }))
}

/** The place of a slot's group in the order of another scene's part; undefined where that has no such cores. */
export function slotOf({ bench: { part } }: Scene, { cores, group }: CoreSlot): number | undefined {
  const index = part.groups === undefined ? 0 : part.groups.findIndex(({ name }) => name === group)
  const own = part.groups === undefined ? part : part.groups[index]
  return (part.groups === undefined) !== (group === undefined) || own === undefined || cores > own.cores
    ? undefined
    : index
}

type Work = Extract<Load, { kind: 'work' }>

export type LoadKind = Pick<NonNullable<ReturnType<typeof loadConstants>['value']>, 'work' | 'activities'>

/** The load of this name without its core counts; full activity without a name; undefined where there is none. */
export function kindOf({ evaluation }: Scene, name: string | undefined): LoadKind | undefined {
  if (name === undefined || name === fullActivity)
    return { work: { activity: 1, vector: false, uneven: 1 }, activities: new Map() }
  const definition = evaluation.profile.loads.find(one => one.name === name)
  return definition && loadConstants(definition).value
}

/** The load on the cores of a slot; undefined where the scene's part has none like them. */
export function loadOn(scene: Scene, kind: LoadKind, slot: CoreSlot): Work | undefined {
  const index = slotOf(scene, slot)
  if (index === undefined) return undefined
  const { part } = scene.bench
  const counts = part.groups?.map((_, own) => (own === index ? slot.cores : 0)) ?? [slot.cores]
  return loadAt(part, { ...kind, fromCores: slot.cores, toCores: slot.cores, groups: [] }, counts)
}

/** Where a case stands: at its core count, or at that of each group that it keeps busy. */
export function slotsOf({ cores, settled }: Case, slots: readonly CoreSlot[]): readonly CoreSlot[] {
  return slots.filter(slot =>
    slot.group === undefined
      ? slot.cores === cores
      : settled.groups?.some(own => own.group === slot.group && own.cores === slot.cores),
  )
}
