/** Why nothing is predicted: what a bench lacks. */

import { mostInherited } from '../../grammar/vocabulary/index.ts'
import { listed } from './counts.ts'

/** Something without which no prediction can be made. */
interface Lack {
  /** The kind of definition that lacks it, or `profile` for the profile itself. */
  readonly kind: string
  /** Undefined where the profile names a definition that does not exist. */
  readonly definition: { readonly name: string } | undefined
  readonly word: string
  /** It stands there, on a line in error. */
  readonly broken: boolean
}

/** A profile and what was gathered for it. */
export interface Incomplete {
  readonly profile: { readonly broken: 'cycle' | 'unknown' | 'deep' | undefined }
  readonly input: { readonly bench: unknown; readonly missing: readonly Lack[] }
}

/** One thing that is missing: `` part `b7` has no `needs` ``. */
export function missingText({ kind, definition, word, broken }: Lack): string {
  if (kind === 'profile') return broken ? `\`${word}\` does not read` : `the profile has no \`${word}\``
  if (definition === undefined) return `the ${kind} it names is not known`
  return broken
    ? `\`${word}\` of ${kind} \`${definition.name}\` does not read`
    : `${kind} \`${definition.name}\` has no \`${word}\``
}

/** Why a profile's chain cannot be followed; undefined where it can. */
export function brokenText(broken: Incomplete['profile']['broken']): string | undefined {
  switch (broken) {
    case 'unknown':
      return 'the profile it starts from is not known'
    case 'cycle':
      return 'the profile starts from itself'
    case 'deep':
      return `the profile starts from more than ${mostInherited} others in a row`
    default:
      return undefined
  }
}

/** All that keeps a profile from being predicted; undefined where it is predicted. */
export function obstacleText({ profile, input }: Incomplete): string | undefined {
  const broken = brokenText(profile.broken)
  if (broken !== undefined) return broken
  // A load that does not read takes nothing from the others.
  const lacks = input.missing.filter(({ kind }) => kind !== 'load' || input.bench === undefined)
  const texts = [...new Set(lacks.map(missingText))]
  if (texts.length > 0) return listed(texts)
  return input.bench === undefined ? 'the bench is incomplete' : undefined
}
