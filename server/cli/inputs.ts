/** What a written page or picture must never be written over. */
import type { Service } from '../service.ts'
import { pathOfUri } from '../workspace/node-files.ts'

/** The paths of all that was read: profiles, what they use, and the logs of their runs. */
export function inputsOf({ workspace, bench }: Service): readonly string[] {
  const documents = [...workspace.documents()].map(({ uri }) => uri)
  const logs = documents.flatMap(uri => bench.logs(uri, 'own').map(log => log.uri))
  return [...documents, ...logs].flatMap(uri => pathOfUri(uri) ?? [])
}
