/** Paths of `use` lines and of logs when files or folders are renamed. */

import type { TextEdit } from '../../grammar/printer.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import { runRecords } from '../bench/run/record.ts'
import { normalizeUri, resolveUri } from '../workspace/files.ts'
import type { Document, Workspace } from '../workspace/workspace.ts'
import type { FileEdits } from './actions.ts'
import { usePath } from './uses.ts'

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

/** The paths that a document writes, with their places in the file. */
function pathsOf({ uses, starts, definitions }: Document): readonly (Span & { readonly path: string })[] {
  const found: (Span & { readonly path: string })[] = []
  const add = (chunk: Chunk, { start, end }: Span, path: string): void => {
    const base = starts.get(chunk)
    if (base !== undefined) found.push({ path, start: base + start, end: base + end })
  }
  for (const use of uses) add(use.chunk, use, use.path)
  for (const { definition, log } of runRecords(definitions)) {
    if (log !== undefined) add(definition.chunk, log.pathSpan, log.path)
  }
  return found.sort((a, b) => a.start - b.start)
}

/** The edits that keep every `use` line, and every run's log, pointing at the file it points at, made before the move. */
export function editsForMoves(workspace: Workspace, moves: readonly Move[]): readonly FileEdits[] {
  const moved = movedBy(moves)
  const found: FileEdits[] = []
  for (const document of workspace.documents()) {
    const edits: TextEdit[] = []
    for (const { path: written, start, end } of pathsOf(document)) {
      const target = resolveUri(document.uri, written)
      if (target === undefined) continue
      const [from, to] = [moved(document.uri), moved(target)]
      // A line that still leads there stays as it was written.
      if (resolveUri(from, written) === to) continue
      const path = usePath(from, to)
      if (path !== undefined) edits.push({ start, end, text: `"${path.replaceAll('"', '""')}"` })
    }
    if (edits.length > 0) found.push({ uri: document.uri, edits })
  }
  return found
}
