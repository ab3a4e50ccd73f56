import type { Severities } from '../../checks/run.ts'
import { type ResolvedProfile, resolveProfile } from '../../semantic/profile.ts'
import type { Workspace } from '../../workspace/workspace.ts'
import { errorsOf } from './errors.ts'
import { type SheetOptions, sheetOf } from './sheet.ts'
import type { Sheet } from './types.ts'

/** A profile of a loaded file with all it starts from; undefined where the file defines none of this name. */
export function profileIn(workspace: Workspace, uri: string, name: string): ResolvedProfile | undefined {
  const view = workspace.view(uri)
  const found = view?.document.definitions.find(one => one.kind === 'profile' && one.name === name)
  return view === undefined || found === undefined ? undefined : resolveProfile(view.scope, found)
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
  return sheetOf(profile, { ...options, errors: errorsOf(workspace, view, profile, options.severities) })
}
