/** What a file has, in pieces that move with their chunks. */

import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Workspace } from '../workspace/workspace.ts'

/** What a file has in one chunk; places count from where the chunk begins. */
export interface Piece<T> {
  /** The very same object as long as its text does not change: what is made of a piece can be kept with it. */
  readonly chunk: Chunk
  /** Where the chunk begins in the file, which is always the start of a line. */
  readonly start: number
  /** Looks for it afresh each time. */
  readonly find: () => readonly T[]
}

/** The chunks of a file in their order, and what is found in each. */
export function* piecesOf<T>(
  workspace: Workspace,
  uri: string,
  find: (chunk: Chunk) => readonly T[],
): Generator<Piece<T>, void> {
  for (const { chunk, start } of workspace.document(uri)?.source.chunks ?? []) {
    yield { chunk, start, find: () => find(chunk) }
  }
}

/** Makes a function of a chunk that is computed once for each; what it gave is evicted with the chunk. */
export function onceForChunk<T>(find: (chunk: Chunk) => T): (chunk: Chunk) => T {
  const known = new WeakMap<Chunk, { readonly value: T }>()
  return chunk => {
    let kept = known.get(chunk)
    if (kept === undefined) {
      kept = { value: find(chunk) }
      known.set(chunk, kept)
    }
    return kept.value
  }
}

/** A stretch of a chunk as one of its file. */
export function moved(base: number, { start, end }: Span): Span {
  return { start: start + base, end: end + base }
}
