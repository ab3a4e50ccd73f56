/** Runs whose revision is not there yet: it is looked up where a person asks. */

import type { Span } from '../../grammar/tree.ts'
import { entry } from '../semantic/definitions.ts'
import type { Workspace } from '../workspace/workspace.ts'
import type { BenchRuns } from './bench-runs.ts'

export interface RunToLookUp extends Span {
  readonly revision: string
}

/** The runs of a file whose revision has not been looked up, or could not be read, at their `revision` lines. */
export function runsToLookUp(workspace: Workspace, bench: BenchRuns, uri: string): readonly RunToLookUp[] {
  const document = workspace.document(uri)
  return bench.compared(uri).flatMap(({ record: { definition }, settings }) => {
    const isWanted = settings.from === 'pending' || (settings.from === 'not-had' && !settings.isNowhere)
    const base = document?.starts.get(definition.chunk)
    const statement = entry(definition.match, 'revision')?.statement
    if (!isWanted || base === undefined || statement === undefined) return []
    return [{ start: base + statement.start, end: base + statement.end, revision: settings.revision }]
  })
}
