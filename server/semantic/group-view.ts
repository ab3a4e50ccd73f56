/** A profile as one group of its part's cores sees it: its own rows, counts and ratios. */

import { nameAfter } from './definitions.ts'
import { partNames } from './part-names.ts'
import type { ResolvedProfile, Sourced } from './profile.ts'

/** What a profile states is looked up for this group first; a plain part is one group without a name. */
export interface GroupView extends ResolvedProfile {
  readonly group: string | undefined
}

/** The profile for one group alone. @param group undefined: as it stands */
export function groupView(profile: ResolvedProfile, group: string | undefined): GroupView {
  if (group === undefined) return { ...profile, group }
  return {
    ...profile,
    group,
    key: (word, name = group) => profile.key(word, name),
    inner: (block, word, name = group) => profile.inner(block, word, name),
    setRows: (name = group) => profile.setRows(name),
  }
}

/** The profile for each group of its part, in the part's order; once, without a name, where all cores are alike. */
export function groupViews(profile: ResolvedProfile): readonly GroupView[] {
  const { groups } = partNames(profile.part)
  return groups.length === 0 ? [groupView(profile, undefined)] : groups.map(group => groupView(profile, group))
}

/** Whether what counts for the group stands for every group that has none of its own. */
export function isForEvery({ group }: GroupView, found: Sourced | undefined): boolean {
  return group !== undefined && found !== undefined && nameAfter(found.match) === undefined
}
