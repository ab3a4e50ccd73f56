import type { TextEdit } from '../../grammar/printer.ts'
import { normalizeUri, resolveUri } from '../workspace/files.ts'
import type { Workspace } from '../workspace/workspace.ts'
import type { FileEdits } from './actions.ts'
import { usePath } from './uses.ts'

/** Paths of `use` lines when files or folders are renamed. */

export interface Move {
  readonly from: string
  readonly to: string
}

function movedBy(moves: readonly Move[]): (uri: string) => string {
  const known = moves.map(({ from, to }) => ({ from: normalizeUri(from), to: normalizeUri(to) }))
  return uri => {
    for (const { from, to } of known) {
      if (uri === from) return to
      if (uri.startsWith(`${from}/`)) return to + uri.slice(from.length)
    }
    return uri
  }
}

/** The edits that keep every `use` line pointing at the file it points at, made before the move. */
export function editsForMoves(workspace: Workspace, moves: readonly Move[]): readonly FileEdits[] {
  const moved = movedBy(moves)
  const found: FileEdits[] = []
  for (const document of workspace.documents()) {
    const edits: TextEdit[] = []
    for (const use of document.uses) {
      const target = resolveUri(document.uri, use.path)
      if (target === undefined) continue
      const [from, to] = [moved(document.uri), moved(target)]
      // A line that still leads there stays as it was written.
      if (resolveUri(from, use.path) === to) continue
      const path = usePath(from, to)
      const base = document.starts.get(use.chunk)
      if (path === undefined || base === undefined) continue
      edits.push({ start: base + use.start, end: base + use.end, text: `"${path.replaceAll('"', '""')}"` })
    }
    if (edits.length > 0) found.push({ uri: document.uri, edits })
  }
  return found
}
