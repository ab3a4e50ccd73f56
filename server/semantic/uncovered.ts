/** Which cores of a load no row of `steps` covers, in words. */

import { activeGroups, type Bench, groupSettings, type Load, stepRatio } from '../model/index.ts'
import { coresText, listed } from '../wording/counts.ts'

type Work = Extract<Load, { readonly kind: 'work' }>

/** The least and the most cores of each group that a load keeps busy and no row covers, by the group's place. */
function uncoveredIn({ part, profile }: Bench, loads: readonly Work[]): ReadonlyMap<number, readonly number[]> {
  const found = new Map<number, readonly number[]>()
  for (const load of loads) {
    for (const { index, cores } of activeGroups(part, load)) {
      if (stepRatio(groupSettings(profile, index), cores) !== undefined) continue
      const known = found.get(index) ?? [cores]
      found.set(index, [Math.min(cores, ...known), Math.max(cores, ...known)])
    }
  }
  return found
}

/**
 * ``no row of `steps` covers 5 to 8 cores of small``: the groups of cores by whose rows a load is not predicted. Undefined
 * where all cores are alike, and where rows cover all that is asked for.
 */
export function uncoveredText(bench: Bench, loads: readonly Work[]): string | undefined {
  const { groups } = bench.part
  if (groups === undefined) return undefined
  const names = [...uncoveredIn(bench, loads)].map(
    ([index, [from = 0, to]]) => `${coresText(from, to)} of ${groups[index]?.name}`,
  )
  return names.length === 0 ? undefined : `no row of \`steps\` covers ${listed(names)}`
}
