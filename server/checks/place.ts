import type { Item, Span, Statement } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import type { Definition } from '../semantic/definitions.ts'
import type { ResolvedProfile, Sourced } from '../semantic/profile.ts'
import type { Place } from './types.ts'

/** Places for findings. */

export function placeIn(owner: { readonly chunk: Place['chunk'] }, span: Span): Place {
  return { chunk: owner.chunk, start: span.start, end: span.end }
}

/** The head of a statement: its items, without its block. */
export function headSpan(statement: Statement): Span {
  const last = statement.items.at(-1) as Item | undefined
  return { start: statement.start, end: last?.end ?? statement.start + 1 }
}

export function headPlace(owner: { readonly chunk: Place['chunk'] }, match: Match): Place {
  return placeIn(owner, headSpan(match.statement))
}

export function namePlace(definition: Definition): Place {
  return placeIn(definition, definition.nameSpan)
}

/**
 * Where a finding about a setting of a profile stands: at the setting, if this profile states it itself; where
 * it is inherited, at the profile's `based-on`, which is what a person would edit here.
 */
export function settingPlace(profile: ResolvedProfile, sourced: Sourced | undefined): Place {
  const own = profile.definition
  if (sourced !== undefined && sourced.definition === own) return headPlace(own, sourced.match)
  return sourced !== undefined && own.basedOn !== undefined ? placeIn(own, own.basedOn) : namePlace(own)
}
