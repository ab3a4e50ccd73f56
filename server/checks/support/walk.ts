/** Walks through the statements of chunks and files. */

import { matchChunk } from '../../../grammar/match.ts'
import { onceFor } from '../../../grammar/once.ts'
import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import type { FileView } from '../../workspace/workspace.ts'

/** One statement of a file, however deep it stands. */
export interface WalkedMatch {
  readonly chunk: Chunk
  readonly match: Match
  /** The statement in whose block it stands. */
  readonly parent: Match | undefined
}

function walk(chunk: Chunk, match: Match, parent: Match | undefined, into: WalkedMatch[]): void {
  into.push({ chunk, match, parent })
  for (const child of match.children) walk(chunk, child, match, into)
}

/** All statements of a chunk in order, outer before inner. */
export const matchesOfChunk = onceFor((chunk: Chunk): readonly WalkedMatch[] => {
  const list: WalkedMatch[] = []
  for (const match of matchChunk(chunk)) walk(chunk, match, undefined, list)
  return list
})

/** The statements of a file that stand in no block, in order. */
export function* topLevelOf(view: FileView): Iterable<Omit<WalkedMatch, 'parent'>> {
  for (const { chunk } of view.document.source.chunks) for (const match of matchChunk(chunk)) yield { chunk, match }
}
