/** Which files a view reaches, and whether all of them are there. */

import { matchChunk } from '../../../grammar/match.ts'
import { onceFor } from '../../../grammar/once.ts'
import type { Match } from '../../../grammar/values.ts'
import { resolveUri } from '../../workspace/files.ts'
import type { Document, FileView } from '../../workspace/workspace.ts'

/** Whether a top-level line may be a `use` that does not read: `uxe "bench.detent"`, or `use` without a path. */
function maybeUse(match: Match): boolean {
  if (match.word === undefined) return match.statement.items[1]?.kind === 'string'
  return match.word.word === 'use' && !match.values.has('path')
}

/** Kept with the document. */
const hasMaybeUse = onceFor(({ source }: Document): boolean =>
  source.chunks.some(({ chunk }) => matchChunk(chunk).some(maybeUse)),
)

/**
 * Whether every file that the view's files use was found and every `use` reads; where one does not, a name may
 * well stand there.
 */
export function isComplete(view: FileView): boolean {
  const there = new Set(view.documents.map(document => document.uri))
  return view.documents.every(document => {
    const areThere = document.uses.every(use => {
      const uri = resolveUri(document.uri, use.path)
      return uri !== undefined && there.has(uri)
    })
    return areThere && !hasMaybeUse(document)
  })
}

/** The file at an address and those it uses in turn, as far as the view holds them. */
export function reachedFrom(view: FileView, uri: string): ReadonlySet<Document> {
  const byUri = new Map(view.documents.map(document => [document.uri, document]))
  const first = byUri.get(uri)
  const found = new Set(first === undefined ? [] : [first])
  for (const document of found) {
    for (const use of document.uses) {
      const next = byUri.get(resolveUri(document.uri, use.path) ?? '')
      if (next !== undefined) found.add(next)
    }
  }
  return found
}
