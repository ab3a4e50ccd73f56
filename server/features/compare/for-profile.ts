/** The runs of one profile. */

import { type RunRecord, runRecords } from '../../bench/run/record.ts'
import type { Workspace } from '../../workspace/workspace.ts'

/** The runs of a file's profile, wherever among the loaded files they stand. */
export function runsOfProfile(workspace: Workspace, uri: string, name: string): readonly RunRecord[] {
  const own = workspace.view(uri)?.document.definitions.find(one => one.kind === 'profile' && one.name === name)
  if (own === undefined) return []
  return [...workspace.documents()].flatMap(document =>
    runRecords(document.definitions).filter(
      ({ profile }) => workspace.view(document.uri)?.scope.find('profile', profile) === own,
    ),
  )
}
