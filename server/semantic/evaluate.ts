/** A profile resolved, gathered and predicted. */

import { keptWhile } from '../../grammar/once.ts'
import type { Definition } from './definitions.ts'
import { inputOf, type ProfileInput } from './input.ts'
import type { RunsOverTime } from './over-time.ts'
import { type Prediction, predictAll, predictInSlices } from './predict.ts'
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

/**
 * Evicted with the profile's chunk; replaced when what it is made of is another definition. Files see a profile with
 * different loads, a run's file with its own: there is one evaluation for each such set, a few at most.
 */
const known = keptWhile<Definition, readonly Evaluation[]>()

/** Evicted with the resolved profile. */
const evaluated = new WeakMap<ResolvedProfile, Evaluation>()

/** So many sets of loads are kept apart; beyond that the oldest is evicted. */
const KEPT = 4

/** What a profile is made of. */
function madeOf(profile: ResolvedProfile): readonly (Definition | undefined)[] {
  const { chain, part, fitted, cooler, room, board } = profile
  return [...chain, part, fitted, cooler, room, board]
}

/** The definitions that a profile's evaluation rests on. */
export function restsOn(profile: ResolvedProfile): readonly (Definition | undefined)[] {
  return [...madeOf(profile), ...profile.loads]
}

/** Whether two sets have the very same loads where they have one of a name: neither is from before an edit of the other. */
function agree(some: readonly Definition[], others: readonly Definition[]): boolean {
  return some.every(load => others.every(other => other.name !== load.name || other === load))
}

const isSame = (some: readonly Definition[], others: readonly Definition[]): boolean =>
  some.length === others.length && some.every((load, index) => load === others[index])

/** Evaluates a profile in its file's scope, or returns the evaluation made before where nothing it rests on changed. */
export function evaluate(scope: Scope, definition: Definition): Evaluation {
  const profile = resolveProfile(scope, definition)
  const kept = evaluated.get(profile)
  if (kept !== undefined) return kept
  const evaluation = evaluateResolved(scope, profile)
  evaluated.set(profile, evaluation)
  return evaluation
}

/** Whether a profile has been evaluated, so that this takes no time any more. */
export function isEvaluated(scope: Scope, definition: Definition): boolean {
  return evaluated.has(resolveProfile(scope, definition))
}

/** As `evaluate`, its predictions made one load at a time. */
export function* evaluateInSlices(scope: Scope, definition: Definition): Generator<undefined, Evaluation> {
  const profile = resolveProfile(scope, definition)
  if (!evaluated.has(profile)) {
    const { before, found, same } = madeBefore(profile)
    // Whatever came between has made the same: the last step finds all that is predicted where it is kept.
    if (found === undefined && same === undefined) yield* predictInSlices(gathered(profile, before[0]?.input))
  }
  return evaluate(scope, definition)
}

/** What a profile comes to; evicted with it. */
const inputs = new WeakMap<ResolvedProfile, ProfileInput>()

function gathered(profile: ResolvedProfile, before: ProfileInput | undefined): ProfileInput {
  const made = inputs.get(profile) ?? inputOf(profile, before)
  inputs.set(profile, made)
  return made
}

/** Evaluations of the same definitions: all, the very same, and one that differs in its courses alone. */
function madeBefore(profile: ResolvedProfile) {
  const before = known.of(profile.definition, madeOf(profile)) ?? []
  const alike = before.filter(one => isSame(one.profile.loads, profile.loads))
  const found = alike.find(one => isSame(one.profile.courses, profile.courses))
  return { before, found, same: alike[0] }
}

function evaluateResolved(scope: Scope, profile: ResolvedProfile): Evaluation {
  const { definition } = profile
  const { before, found, same } = madeBefore(profile)
  if (found !== undefined) return found
  const input = same?.input ?? gathered(profile, before[0]?.input)
  // A course changes no prediction of a load: what was predicted, and its runs over time, are kept.
  const predictions = same?.predictions ?? predictAll(input)
  const made = { profile, input, predictions, overTime: scope.overTime }
  const isCurrent = (one: ResolvedProfile): boolean =>
    agree(one.loads, profile.loads) && agree(one.courses, profile.courses)
  const others = before.filter(one => isCurrent(one.profile)).slice(0, KEPT - 1)
  known.keep(definition, madeOf(profile), [made, ...others])
  return made
}

/** Definitions that take the place of those a profile names. */
export type StandIns = Partial<Readonly<Record<'part' | 'cooler' | 'room' | 'board', Definition>>>

/** Evaluates a profile as if it named other definitions; nothing is kept. */
export function evaluateWith(scope: Scope, definition: Definition, standIns: StandIns): Evaluation {
  const resolved = { ...resolveProfile(scope, definition), ...standIns }
  const profile = { ...resolved, fitted: resolved.part && scope.find('fitted', resolved.part.name) }
  const input = inputOf(profile)
  return { profile, input, predictions: predictAll(input), overTime: scope.overTime }
}
