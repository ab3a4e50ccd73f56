import { mostInherited } from '../../../grammar/vocabulary/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import type { Scope } from '../../semantic/scope.ts'
import { quotedList } from '../../wording/counts.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { namePlace, placeIn } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** The profile that a profile starts from. */
const baseOf = (scope: Scope, { basedOn }: Definition): Definition | undefined =>
  basedOn && scope.find('profile', basedOn.text)

interface Chains {
  /** Each circle once, as it is gone round. */
  readonly circles: readonly (readonly Definition[])[]
  /** From how many others a profile starts, one from the next; absent where it leads into a circle. */
  readonly depths: ReadonlyMap<Definition, number>
}

/** Follows `based-on` from all of these profiles, each of them once however long the chains are. */
function chainsOf(scope: Scope, definitions: readonly Definition[]): Chains {
  const seen = new Set<Definition>()
  const circles: Definition[][] = []
  const depths = new Map<Definition, number>()
  for (const definition of definitions) {
    const way: Definition[] = []
    let at: Definition | undefined = definition
    for (; at !== undefined && !seen.has(at); at = baseOf(scope, at)) {
      seen.add(at)
      way.push(at)
    }
    const back = at === undefined ? -1 : way.indexOf(at)
    if (back >= 0) circles.push(way.slice(back))
    let depth = at === undefined ? -1 : depths.get(at)
    if (depth === undefined) continue
    for (const one of way.reverse()) depths.set(one, ++depth)
  }
  return { circles, depths }
}

/** Where the first profile of this file stands in a circle; -1 where none of it is in this file. */
function firstOf(circle: readonly Definition[], order: ReadonlyMap<Definition, number>): number {
  const places = circle.map(one => order.get(one) ?? Number.POSITIVE_INFINITY)
  return places.reduce((best, place, at) => (place < (places[best] ?? Number.POSITIVE_INFINITY) ? at : best), -1)
}

function standAlone(definition: Definition): readonly Fix[] {
  const { basedOn, nameSpan, chunk } = definition
  if (basedOn === undefined) return []
  const at = { chunk, start: nameSpan.end, end: basedOn.end }
  return [choice(replaceFix(`Remove \`based-on ${basedOn.text}\``, at, ''))]
}

export const basedOnCycle: Check = {
  code: 'based-on-cycle',
  severity: 'error',
  title: 'Profiles that start from each other, or from too many',
  page: {
    what: `A profile that starts from itself, directly or through others: reported once for each circle, at the first of its profiles. Also a profile that starts from more than ${mostInherited} others in a row.`,
    why: 'A circle has no beginning, so nothing in it can be predicted. A chain as long as that is a slip of a program that wrote the file, and it is not followed.',
    remedy:
      'Let one of them stand alone. The quick fix removes `based-on` from this one; its settings stay as they are.',
    example: 'profile day based-on night { drive full }\nprofile night based-on day { drive off }',
  },
  *inFile({ view: { document, scope } }) {
    // One that starts from no other is in no circle, and is found on the way of those that start from it.
    const profiles = document.definitions.filter(({ basedOn }) => basedOn !== undefined)
    const { circles, depths } = chainsOf(scope, profiles)
    const order = new Map(profiles.map((profile, index) => [profile, index]))
    for (const circle of circles) {
      const at = firstOf(circle, order)
      const definition = circle[at]
      if (definition?.basedOn === undefined) continue
      const others = [...circle.slice(at + 1), ...circle.slice(0, at)]
      const way =
        others.length === 0
          ? `\`${definition.name}\` starts from itself.`
          : `\`${definition.name}\` starts from ${quotedList(others.map(other => other.name))}, and so from itself again.`
      yield {
        at: placeIn(definition, definition.basedOn),
        message: `${way} Nothing in the circle can be predicted: let one of them stand alone.`,
        profile: definition.name,
        fixes: standAlone(definition),
        related: others.map(other => ({ at: namePlace(other), message: 'Part of the circle' })),
      }
    }
    for (const definition of profiles) {
      // Those further on have no finding of their own: they follow from this one.
      if (definition.basedOn === undefined || depths.get(definition) !== mostInherited + 1) continue
      yield {
        at: placeIn(definition, definition.basedOn),
        message: `\`${definition.name}\` starts from ${mostInherited + 1} others in a row, and ${mostInherited} are followed. It is not predicted, nor is any that starts from it: let a profile on the way stand alone.`,
        profile: definition.name,
        fixes: standAlone(definition),
      }
    }
  },
}
