import type { Span } from '../../grammar/tree.ts'
import type { Workspace } from '../workspace/workspace.ts'

/** A path in a file that can be followed. */
export interface FileLink extends Span {
  readonly target: string
  readonly path: string
}

/** The `use` lines of a file that lead to a file. */
export function fileLinks(workspace: Workspace, uri: string): readonly FileLink[] {
  const view = workspace.view(uri)
  return (view?.uses ?? []).flatMap(({ use, uri: target, state }) => {
    const base = view?.document.starts.get(use.chunk)
    if (target === undefined || base === undefined || state === 'missing' || state === 'loading') return []
    // Without the quotes.
    return [{ start: base + use.start + 1, end: base + use.end - 1, target, path: use.path }]
  })
}
