/** Which profile of one side is which of the other: by file and name, else by a name that is unique on both sides. */

import type { Evaluation } from '../../semantic/evaluate.ts'
import type { SinceSide } from './types.ts'

/** A profile at its place. */
export interface Placed {
  readonly file: string
  readonly uri: string
  readonly name: string
  readonly evaluation: Evaluation
}

export interface Paired {
  readonly before: Placed | undefined
  readonly now: Placed | undefined
}

function profilesOf(side: SinceSide): readonly Placed[] {
  return side.files.flatMap(({ uri, name: file }) =>
    side
      .evaluations(uri)
      .map(evaluation => ({ file, uri, name: evaluation.profile.definition.name, evaluation }) satisfies Placed),
  )
}

/** By a key; what shares its key with another stays out. */
function unique(profiles: readonly Placed[], keyOf: (profile: Placed) => string): ReadonlyMap<string, Placed> {
  const found = new Map<string, Placed | undefined>()
  for (const profile of profiles) {
    const key = keyOf(profile)
    found.set(key, found.has(key) ? undefined : profile)
  }
  return new Map([...found].flatMap(([key, profile]) => (profile === undefined ? [] : [[key, profile] as const])))
}

/** All profiles of both sides, each once; those that are still there in the order of their files, then those that are gone. */
export function pairsOf(before: SinceSide, now: SinceSide): readonly Paired[] {
  const [older, newer] = [profilesOf(before), profilesOf(now)]
  const partners = new Map<Placed, Placed>()
  const taken = new Set<Placed>()
  for (const keyOf of [({ file, name }: Placed) => `${file}\n${name}`, ({ name }: Placed) => name]) {
    const [those, these] = [unique(older, keyOf), unique(newer, keyOf)]
    for (const [key, one] of these) {
      const other = those.get(key)
      if (other === undefined || partners.has(one) || taken.has(other)) continue
      partners.set(one, other)
      taken.add(other)
    }
  }
  return [
    ...newer.map(one => ({ before: partners.get(one), now: one })),
    ...older.filter(one => !taken.has(one)).map(one => ({ before: one, now: undefined })),
  ]
}
