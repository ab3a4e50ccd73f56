/** Names that a part gives: its groups of cores and the supply rails that they are on. */

import { onceFor } from '../../grammar/once.ts'
import { type Definition, entries, entry, text } from './definitions.ts'

/** In the part's order, each once. */
export interface PartNames {
  /** None where all cores are alike. */
  readonly groups: readonly string[]
  readonly rails: readonly string[]
}

/** The rail of groups that state none. */
export const mainRail = 'main'

const none: PartNames = { groups: [], rails: [] }

const namesOf = onceFor(({ match }: Definition): PartNames => {
  const groups = entries(match, 'group')
  const railOf = (index: number): string => {
    const group = groups[index]
    const rail = group && entry(group, 'rail')
    return (rail && text(rail, 'value')?.text) ?? mainRail
  }
  const names = groups.flatMap(group => text(group, 'name')?.text ?? [])
  return { groups: [...new Set(names)], rails: [...new Set(groups.map((_, index) => railOf(index)))] }
})

/** The names of a part; none where it is not known. */
export function partNames(part: Definition | undefined): PartNames {
  return part === undefined ? none : namesOf(part)
}
