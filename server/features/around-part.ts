/** The files around a part: its own, those that it uses and those that use it; and the coolers that profiles there name. */

import type { Definition } from '../semantic/definitions.ts'
import { resolveProfile } from '../semantic/profile.ts'
import type { FileView, Workspace } from '../workspace/workspace.ts'

export function viewsAround(workspace: Workspace, { document, documents }: FileView): readonly FileView[] {
  const uris = new Set([...documents.map(one => one.uri), ...workspace.usersOf(document.uri)])
  return [...uris].flatMap(uri => workspace.view(uri) ?? [])
}

/** The coolers that profiles on a part name, whichever file asks; none where the part is not among the documents. */
export function coolersOf(workspace: Workspace, part: Definition): readonly Definition[] {
  const home = [...workspace.documents()].find(({ starts }) => starts.has(part.chunk))
  const view = home && workspace.view(home.uri)
  const views = view === undefined ? [] : viewsAround(workspace, view)
  const profiles = views.flatMap(({ scope, document }) =>
    document.definitions.flatMap(one => (one.kind === 'profile' ? [resolveProfile(scope, one)] : [])),
  )
  return [...new Set(profiles.flatMap(one => (one.part === part && one.cooler !== undefined ? [one.cooler] : [])))]
}
