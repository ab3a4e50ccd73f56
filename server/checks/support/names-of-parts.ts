/** Names of groups of cores and of supply rails that no part in question has. */

import { onceFor } from '../../../grammar/once.ts'
import type { Span } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { mainRail } from '../../model/index.ts'
import { type Definition, text } from '../../semantic/definitions.ts'
import { partNames } from '../../semantic/part-names.ts'
import { resolveProfile } from '../../semantic/profile.ts'
import { quotedList } from '../../wording/counts.ts'
import type { FileView } from '../../workspace/workspace.ts'
import type { Found } from '../types.ts'
import { suggestions } from './edits.ts'

interface NamePlace extends Span {
  readonly name: string
  readonly of: 'group' | 'rail' | 'either'
  /** In the `cores` of a load, which is left out where the part has no such group. */
  readonly isOfLoad: boolean
}

/** The names of groups and rails in a statement and in its block. */
export function* namesIn(match: Match): Iterable<NamePlace> {
  for (const { slot } of match.slots) {
    if (slot.slot !== 'part-name' || slot.after !== true) continue
    const value = text(match, slot.name)
    const isOfLoad = match.place === 'load' && match.word?.word === 'cores'
    if (value !== undefined) yield { name: value.text, of: slot.of, start: value.start, end: value.end, isOfLoad }
  }
  for (const child of match.children) yield* namesIn(child)
}

const placesIn = onceFor(({ match }: Definition): readonly NamePlace[] => [...namesIn(match)])

/** Whether a definition says anything of one group or supply rail alone. */
export function namesAny(definition: Definition): boolean {
  return placesIn(definition).length > 0
}

/**
 * The parts whose names count for a definition: a part itself, a profile's own, that of a run's profile, or all in sight
 * for what serves many.
 */
export function partsFor({ scope }: FileView, definition: Definition): readonly Definition[] {
  if (definition.kind === 'part') return [definition]
  if (definition.kind === 'fitted') return [scope.find('part', definition.name) ?? []].flat()
  const profile = definition.kind === 'run' ? profileOf(scope, definition) : definition
  // A profile that is named and not known has a finding of its own.
  if (profile === undefined) return []
  const own = profile.kind === 'profile' ? resolveProfile(scope, profile) : undefined
  if (own?.part !== undefined) return [own.part]
  // A part that is named and not known has a finding of its own.
  return own?.key('part') === undefined ? scope.all('part') : []
}

function profileOf(scope: FileView['scope'], run: Definition): Definition | undefined {
  const name = text(run.match, 'profile')?.text
  return name === undefined ? undefined : scope.find('profile', name)
}

/** The names that these parts have for a place of groups, of supply rails, or of either. */
export function namesKnown(parts: readonly Definition[], of: NamePlace['of']): ReadonlySet<string> {
  const names = parts.map(part => partNames(part))
  const groups = of === 'rail' ? [] : names.flatMap(one => one.groups)
  const rails = of === 'group' ? [] : [mainRail, ...names.flatMap(one => one.rails)]
  return new Set([...groups, ...rails])
}

/** Names behind key words that no part in question has. */
export function* unknownPartNames(view: FileView): Iterable<Found> {
  for (const definition of view.document.definitions) {
    const places = placesIn(definition)
    if (places.length === 0) continue
    const parts = partsFor(view, definition)
    if (parts.length === 0) continue
    for (const { name, of, start, end, isOfLoad } of places) {
      const known = namesKnown(parts, of)
      if (known.has(name)) continue
      const at = { chunk: definition.chunk, start, end }
      const what = of === 'rail' ? 'supply rail' : 'group'
      const whose = parts.length === 1 ? `The part \`${parts[0]?.name}\` has` : 'No part here has'
      const not = parts.length === 1 ? 'no' : 'a'
      const has = known.size === 0 ? 'its cores are all alike' : `there are ${quotedList([...known])}`
      const comes = isOfLoad ? 'The load is left out of every prediction' : 'The line does nothing'
      const { sentence, fixes } = suggestions(name, known, at)
      yield {
        at,
        message: `${whose} ${not} ${what} called \`${name}\`: ${parts.length === 1 || known.size > 0 ? has : 'their cores are all alike'}. ${comes}: correct the name, or remove the line.${sentence}`,
        ...(fixes.length > 0 ? { fixes } : {}),
      }
    }
  }
}
