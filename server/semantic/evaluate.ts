/** A profile resolved, gathered and predicted. */

import { keptWhile } from '../../grammar/once.ts'
import type { Definition } from './definitions.ts'
import { inputOf, type ProfileInput } from './input.ts'
import type { RunsOverTime } from './over-time.ts'
import { type Prediction, predictAll } from './predict.ts'
import { type ResolvedProfile, resolveProfile } from './profile.ts'
import type { Scope } from './scope.ts'

/** A profile resolved, gathered and predicted. Never altered; a change makes another. */
export interface Evaluation {
  readonly profile: ResolvedProfile
  readonly input: ProfileInput
  readonly predictions: readonly Prediction[]
  /** Where its runs over time are asked for. */
  readonly overTime: RunsOverTime
}

/** Evicted with the profile's chunk; replaced when anything the profile rests on is another definition. */
const known = keptWhile<Definition, Evaluation>()

/** The definitions that a profile's evaluation rests on. */
export function restsOn(profile: ResolvedProfile): readonly (Definition | undefined)[] {
  return [...profile.chain, profile.part, profile.cooler, profile.room, profile.board, ...profile.loads]
}

/** Evaluates a profile in its file's scope, or returns the evaluation made before where nothing it rests on changed. */
export function evaluate(scope: Scope, definition: Definition): Evaluation {
  const profile = resolveProfile(scope, definition)
  const rests = restsOn(profile)
  const before = known.of(definition, rests)
  if (before !== undefined) return before
  const input = inputOf(profile)
  return known.keep(definition, rests, { profile, input, predictions: predictAll(input), overTime: scope.overTime })
}

/** Definitions that take the place of those a profile names. */
export type StandIns = Partial<Readonly<Record<'part' | 'cooler' | 'room' | 'board', Definition>>>

/** Evaluates a profile as if it named other definitions; nothing is kept. */
export function evaluateWith(scope: Scope, definition: Definition, standIns: StandIns): Evaluation {
  const profile = { ...resolveProfile(scope, definition), ...standIns }
  const input = inputOf(profile)
  return { profile, input, predictions: predictAll(input), overTime: scope.overTime }
}
