import type { Definition } from '../../semantic/definitions.ts'
import type { Scope } from '../../semantic/scope.ts'
import { quotedList } from '../../wording/counts.ts'
import { choice, replaceFix } from '../support/edits.ts'
import { namePlace, placeIn } from '../support/place.ts'
import type { Check, Fix } from '../types.ts'

/** The profiles of the circle that this one is part of, itself first; undefined where it is in none. */
function circleOf(scope: Scope, definition: Definition): readonly Definition[] | undefined {
  const way = [definition]
  for (let current = definition; current.basedOn !== undefined; ) {
    const base = scope.find('profile', current.basedOn.text)
    if (base === undefined) return undefined
    if (base === definition) return way
    // The way leads into a circle that this profile itself is not part of.
    if (way.includes(base)) return undefined
    way.push(base)
    current = base
  }
  return undefined
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
  title: 'Profiles that start from each other',
  page: {
    what: 'A profile that starts from itself, at once or through others. Told once for each circle, at the first of its profiles.',
    why: 'None of them has a beginning, so none can be predicted.',
    remedy:
      'Let one of them stand alone. The quick fix takes `based-on` away from this one; its settings stay as they are.',
    example: 'profile day based-on night { drive full }\nprofile night based-on day { drive off }',
  },
  *inFile({ view }) {
    const told = new Set<Definition>()
    for (const definition of view.document.definitions) {
      if (definition.kind !== 'profile' || definition.basedOn === undefined || told.has(definition)) continue
      const circle = circleOf(view.scope, definition)
      if (circle === undefined) continue
      for (const member of circle) told.add(member)
      const others = circle.slice(1)
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
  },
}
