/** The core voltages that a supply rail may have. */

import type { Part } from '../model/types.ts'
import { groupViews } from './group-view.ts'
import type { ResolvedProfile } from './profile.ts'
import { partVoltages } from './profile-values.ts'

/**
 * What every group on a group's rail allows, in V: what one of them asks for reaches them all. Undefined where none states it.
 * @param group by its place in the part; 0 for a part whose cores are all alike
 */
export function railVoltages(
  profile: ResolvedProfile,
  { groups }: Pick<Part, 'groups'>,
  group = 0,
): { readonly lowV: number; readonly highV: number } | undefined {
  const rail = groups?.[group]?.rail
  const views = groupViews(profile).filter((_, index) => groups?.[index]?.rail === rail)
  const ranges = views.flatMap(view => partVoltages(view) ?? [])
  if (ranges.length === 0) return undefined
  return { lowV: Math.max(...ranges.map(one => one.lowV)), highV: Math.min(...ranges.map(one => one.highV)) }
}
