/** The kinds of cores of a part: a plain part is a part of one group. */

import type { Bench, CoreGroup, GroupLoad, GroupSettings, Load, Part, Profile } from './types.ts'

/** What a load asks of the cores, whatever else it is. */
export type Asked = Pick<Extract<Load, { readonly kind: 'work' }>, 'cores' | 'groups'> & { readonly activity?: number }

/** The groups of a part in its order, a plain part itself being the only one. */
export function groupsOf(part: Part): readonly CoreGroup[] {
  return part.groups ?? [part]
}

/** What a profile sets for the group at a place in the part's order. */
export function groupSettings(profile: Profile, index: number): GroupSettings {
  return profile.groups?.[index] ?? profile
}

/** The board as a rail has it: its own step and load line, else those of all rails. */
export function boardOfRail(board: Bench['board'], rail: string): Bench['board'] {
  const own = board.rails?.[rail]
  return own === undefined ? board : { ...board, ...own }
}

/** A bench with other settings of one group; of a plain part with those that it has. */
export function withGroupSettings(bench: Bench, index: number, own: Partial<GroupSettings>): Bench {
  const { profile } = bench
  const groups = profile.groups?.map((group, at) => (at === index ? { ...group, ...own } : group))
  // What is set for the first group stands in the profile itself as well.
  return { ...bench, profile: { ...profile, ...(index === 0 ? own : {}), ...(groups && { groups }) } }
}

/** A part as if the cores of one of its groups were all that it has: a plain part with that group's constants. */
export function partOfGroup(part: Part, index: number): Part {
  const group = part.groups?.[index]
  if (group === undefined) return part
  const { groups: _, ...rest } = part
  return { ...rest, ...group }
}

/** A bench as if the cores of one group were all that it has: for what is asked about one kind of cores alone. */
export function benchOfGroup(bench: Bench, index: number): Bench {
  if (bench.part.groups === undefined) return bench
  const { groups: _, ...rest } = bench.profile
  return {
    ...bench,
    part: partOfGroup(bench.part, index),
    profile: { ...rest, ...groupSettings(bench.profile, index) },
  }
}

/** What a load asks of each group, in the part's order; one that names none fills them in that order. */
export function groupLoads(part: Part, { cores, activity = 1, groups }: Asked): readonly GroupLoad[] {
  if (part.groups === undefined) return [{ cores, activity }]
  if (groups !== undefined) return groups
  let left = cores
  return part.groups.map(group => {
    const own = Math.min(left, group.cores)
    left -= own
    return { cores: own, activity }
  })
}

/** A group that has active cores under a load. */
export interface ActiveGroup extends GroupLoad {
  /** Its place in the part's order. */
  readonly index: number
}

/** The groups that have active cores, in the part's order. */
export function activeGroups(part: Part, load: Asked): readonly ActiveGroup[] {
  if (part.groups === undefined) return [{ index: 0, cores: load.cores, activity: load.activity ?? 1 }]
  const found: ActiveGroup[] = []
  const loads = groupLoads(part, load)
  for (let index = 0; index < loads.length; index++) {
    const { cores, activity } = loads[index] as GroupLoad
    if (cores > 0) found.push({ index, cores, activity })
  }
  return found
}
