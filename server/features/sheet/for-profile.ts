import type { Severities } from '../../checks/run.ts'
import { type Evaluation, evaluate } from '../../semantic/evaluate.ts'
import { type ResolvedProfile, resolveProfile } from '../../semantic/profile.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { errorsOf } from './errors.ts'
import type { ReachedRatio } from './facts.ts'
import { type SheetOptions, sheetOf } from './sheet.ts'
import type { Sheet } from './types.ts'

/** A profile of a loaded file with all it starts from; undefined where the file defines none of this name. */
export function profileIn(workspace: Workspace, uri: string, name: string): ResolvedProfile | undefined {
  const view = workspace.view(uri)
  const found = view?.document.definitions.find(one => one.kind === 'profile' && one.name === name)
  return view === undefined || found === undefined ? undefined : resolveProfile(view.scope, found)
}

/** The lowest ratio that each load comes to at any core count and in any corner. */
function reachedRatios({ predictions }: Evaluation): readonly ReachedRatio[] {
  const lowest = new Map<string, number>()
  for (const { load, settled } of predictions) {
    const { ratioLow } = settled
    if (ratioLow !== null) lowest.set(load.name, Math.min(ratioLow, lowest.get(load.name) ?? ratioLow))
  }
  return [...lowest].map(([load, ratio]) => ({ load, ratio }))
}

/** The entry sheet of a profile of a loaded file, with what is found at error level; undefined where there is none. */
export function sheetFor(
  workspace: Workspace,
  uri: string,
  name: string,
  options: Pick<SheetOptions, 'from'> & { readonly severities?: Severities } = {},
): Sheet | undefined {
  const view = workspace.view(uri)
  const profile = profileIn(workspace, uri, name)
  if (view === undefined || profile === undefined) return undefined
  const errors = errorsOf(workspace, view, profile, options.severities)
  return sheetOf(profile, { ...options, errors, reached: reachedRatios(evaluate(view.scope, profile.definition)) })
}
