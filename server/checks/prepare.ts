/** Makes what the findings of a file rest on, in steps. */

import type { Span } from '../../grammar/tree.ts'
import { mayBeOff, prepareCompared } from '../bench/run/compared.ts'
import type { Definition } from '../semantic/definitions.ts'
import { evaluate, evaluateInSlices, isEvaluated } from '../semantic/evaluate.ts'
import { alongEdits } from '../workspace/along-edits.ts'
import { definitionsIn, type FileView, isWhole } from '../workspace/workspace.ts'
import { findInSlices, isFound, lookedUpOnce, profilesIn, restsOfProfiles } from './in-profile.ts'
import type { BenchFacts } from './types.ts'

/** A step on the way to the findings of a file; `seen` once all is made that the visible ones rest on. */
export type Preparing = Generator<'seen' | undefined, void>

/**
 * Makes what the findings of a file rest on, a load or a check at a time, so that other work goes between; all of it is kept.
 * @param seen the stretch of the file whose profiles come first; without it they come in their order
 */
export function* prepareFindings(view: FileView, shown: BenchFacts, seen?: Span): Preparing {
  const facts = lookedUpOnce(shown)
  const { document } = view
  for (const part of document.definitions) if (part.kind === 'part') yield* facts.evidenceInSlices(part)
  for (const definition of seen === undefined ? [] : definitionsIn(document, seen))
    if (definition.kind === 'profile') yield* prepareProfile(view, definition, facts)
  for (const run of facts.runs) {
    yield* run.settleInSlices()
    if (mayBeOff(run)) yield* prepareCompared(run)
  }
  // Where all are predicted, as after a character, what is left takes no time: findings then come whole and once.
  if (seen !== undefined && !isWhole(view)) yield 'seen'
  const isReady = preparedAlong(document, restsOfProfiles(view, facts), chunk =>
    profilesIn(chunk).every(definition => isPrepared(view, definition, facts)),
  )
  const left = document.source.chunks.filter((_, index) => isReady[index] !== true)
  const profiles = left.flatMap(({ chunk }) => profilesIn(chunk))
  for (const [index, definition] of profiles.entries()) {
    if (!isPrepared(view, definition, facts)) yield* prepareProfile(view, definition, facts)
    else if (index % LOOKED_AT === 0) yield
  }
}

/** Whether all that is found in the profiles of a chunk is made. */
const preparedAlong = alongEdits<boolean>(isReady => !isReady)

/** Profiles with nothing left to do are skipped, so many in one step. */
const LOOKED_AT = 256

function isPrepared(view: FileView, definition: Definition, facts: BenchFacts): boolean {
  const { scope } = view
  if (!isEvaluated(scope, definition)) return false
  view.notePredicted(definition)
  const evaluation = evaluate(scope, definition)
  return isFound(evaluation, facts)
}

function* prepareProfile(view: FileView, definition: Definition, facts: BenchFacts): Generator<undefined, void> {
  const evaluation = yield* evaluateInSlices(view.scope, definition)
  view.notePredicted(definition)
  const { part, chain } = evaluation.profile
  yield* facts.evidenceInSlices(part)
  const hits = yield* findInSlices(evaluation, facts)
  const [, base] = chain
  // What is found in the profile that it starts from is not said again.
  if (hits.length > 0 && base !== undefined) yield* findInSlices(yield* evaluateInSlices(view.scope, base), facts)
  yield
}
