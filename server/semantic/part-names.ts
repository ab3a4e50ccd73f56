/** Names that a part gives: its groups of cores and the supply rails that they are on. */

import { onceFor } from '../../grammar/once.ts'
import type { Match } from '../../grammar/values.ts'
import { mainRail } from '../model/index.ts'
import { type Definition, entries, entry, text } from './definitions.ts'

/** In the part's order, each once. */
export interface PartNames {
  /** None where all cores are alike. */
  readonly groups: readonly string[]
  readonly rails: readonly string[]
}

const none: PartNames = { groups: [], rails: [] }

function railOf(group: Match): string {
  const rail = entry(group, 'rail')
  return (rail && text(rail, 'value')?.text) ?? mainRail
}

const namesOf = onceFor(({ match }: Definition): PartNames => {
  const groups = entries(match, 'group')
  const names = groups.flatMap(group => text(group, 'name')?.text ?? [])
  return { groups: [...new Set(names)], rails: [...new Set(groups.map(railOf))] }
})

/** The groups on each supply rail of a part, in its order; none where all cores are alike. */
export function groupsByRail(part: Definition | undefined): ReadonlyMap<string, readonly string[]> {
  const found = new Map<string, string[]>()
  for (const group of part === undefined ? [] : entries(part.match, 'group')) {
    const name = text(group, 'name')?.text
    const rail = railOf(group)
    if (name !== undefined) found.set(rail, [...(found.get(rail) ?? []).filter(other => other !== name), name])
  }
  return found
}

/** The names of a part; none where it is not known. */
export function partNames(part: Definition | undefined): PartNames {
  return part === undefined ? none : namesOf(part)
}
