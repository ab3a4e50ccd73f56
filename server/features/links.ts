/** Paths of a file that can be followed. */

import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Workspace } from '../workspace/workspace.ts'
import type { BenchRuns } from './bench-runs.ts'

/** A path in a file that can be followed. */
export interface FileLink extends Span {
  readonly target: string
  readonly path: string
}

/** The `use` lines of a file that lead to a file, and the logs of its runs but for those that are known to be missing. */
export function fileLinks(workspace: Workspace, bench: BenchRuns, uri: string): readonly FileLink[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const { starts } = view.document
  // Without the quotes.
  const link = (chunk: Chunk, { start, end }: Span, target: string, path: string): readonly FileLink[] => {
    const base = starts.get(chunk)
    return base === undefined ? [] : [{ start: base + start + 1, end: base + end - 1, target, path }]
  }
  const uses = view.uses.flatMap(({ use, uri: target, state }) =>
    target === undefined || state === 'missing' || state === 'loading' ? [] : link(use.chunk, use, target, use.path),
  )
  const logs = bench
    .logs(uri, 'own')
    .flatMap(({ record: { definition, log }, uri: target, reading }) =>
      log === undefined || reading?.state === 'missing' ? [] : link(definition.chunk, log.pathSpan, target, log.path),
    )
  return [...uses, ...logs]
}
