/** Makes what a hover rests on, where that takes longer than a frame. */

import type { Definition } from '../../semantic/definitions.ts'
import { evaluate } from '../../semantic/evaluate.ts'
import type { Judge } from '../../semantic/expectations.ts'
import { probabilityInSlices } from '../../semantic/probability.ts'
import { uncertaintyInSlices } from '../../semantic/uncertainty.ts'
import type { FileView, Workspace } from '../../workspace/workspace.ts'
import { type Cursor, cursorAt } from '../cursor.ts'
import { followForHover } from '../facts/course.ts'
import { detailedPredictions } from '../facts/load-detail.ts'
import { openPrediction } from '../facts/steps.ts'
import { evaluationOf, profilesOn, profilesSeeing } from '../profiles.ts'
import { referenceAt } from '../references/reference.ts'

/** The load that a hover at the cursor describes, by its name or inside its definition. */
function loadAt(cursor: Cursor): string | undefined {
  const reference = referenceAt(cursor)
  if (reference !== undefined) return reference.kind === 'load' ? reference.name : undefined
  return cursor.definition?.kind === 'load' ? cursor.definition.name : undefined
}

/** The course that a hover at the cursor describes. */
function courseAt(cursor: Cursor): Definition | undefined {
  const { definition } = cursor
  if (definition?.kind === 'course') return definition
  const named = referenceAt(cursor)
  return named?.kind === 'course' ? named.definition : undefined
}

function* evaluatedProfiles(workspace: Workspace, view: FileView): Generator<undefined, void> {
  for (const uri of [view.document.uri, ...workspace.usersOf(view.document.uri)]) {
    const seeing = workspace.view(uri)
    for (const definition of seeing?.predicted ?? []) {
      if (seeing !== undefined) evaluate(seeing.scope, definition)
      yield
    }
  }
}

/**
 * Makes what a hover rests on that takes longer than a frame, a few milliseconds at a time: what `±` makes of a load's
 * predictions and of an expectation. The hover then finds it made.
 */
export function* prepareHover(
  workspace: Workspace,
  uri: string,
  offset: number,
  judge: Judge,
): Generator<undefined, void> {
  const view = workspace.view(uri)
  if (view === undefined) return
  const cursor = cursorAt(view, offset)
  const course = courseAt(cursor)
  if (course !== undefined) yield* followForHover(profilesOn(workspace, view, course), course)
  const load = loadAt(cursor)
  if (load !== undefined) {
    yield* evaluatedProfiles(workspace, view)
    for (const { evaluation, prediction } of detailedPredictions(profilesSeeing(workspace, view), load)) {
      yield* uncertaintyInSlices(evaluation.input, prediction, true)
    }
    return
  }
  const evaluation = evaluationOf(view, cursor.definition)
  if (evaluation === undefined) return
  const open = openPrediction(evaluation, cursor.match)
  if (open !== undefined) yield* uncertaintyInSlices(evaluation.input, open, true)
  if (cursor.match?.word?.word !== 'expect') return
  const found = judge(evaluation).find(({ sourced }) => sourced.match === cursor.match)
  if (found !== undefined) yield* probabilityInSlices(evaluation, found)
}
