/** Places for findings. */

import type { Item, Span, Statement } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { changesNoPrediction } from '../../../grammar/vocabulary/index.ts'
import { type Definition, entry, mentions } from '../../semantic/definitions.ts'
import type { ResolvedProfile, Sourced } from '../../semantic/profile.ts'
import type { Place } from '../types.ts'

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

/** Whether the profile itself states this setting, so that an edit of its own text can change it. */
export function isOwn(profile: ResolvedProfile, sourced: Sourced | undefined): boolean {
  return sourced !== undefined && sourced.definition === profile.definition
}

/**
 * Whether a finding that rests on these settings alone is this profile's own. A profile that inherits all of
 * them has them from one that has the same finding, and the same mistake is reported once.
 */
export function isOwnMistake(
  { definition: { match }, chain, group }: ResolvedProfile & { readonly group?: string | undefined },
  ...words: readonly string[]
): boolean {
  const states = (word: string): boolean => group !== undefined && entry(match, word, group) !== undefined
  return chain.length === 1 || words.some(word => mentions(match, word) || states(word))
}

/** Whether a value is misspelt, so that what it is read as is a guess; that has a finding of its own. */
export function isMisspelt({ chunk }: { readonly chunk: Place['chunk'] }, span: Span): boolean {
  return chunk.problems.some(problem => problem.start < span.end && problem.end > span.start)
}

/** Whether a profile's predictions can differ from those of the profile it starts from. */
export function hasOwnPredictions(profile: ResolvedProfile): boolean {
  const { chain, definition } = profile
  return (
    chain.length === 1 || definition.match.children.some(({ word }) => word === undefined || !changesNoPrediction(word))
  )
}
