/** Answers about whole files, made of one answer for each chunk: after an edit only the edited chunk is worked on. */

import type { Chunk } from '../../grammar/tree.ts'
import type { Piece } from '../features/pieces.ts'
import { type Lines, lineCount, linesOf } from './positions.ts'
import { createSlices } from './turns.ts'

/**
 * Makes a function that goes through the pieces of a file and rests between them, so that what is typed or asked
 * meanwhile comes first. What is made of a piece is evicted with its chunk.
 * @param make lines count from the first one of the chunk; the function's `check` throws where nobody waits for it any more
 */
export function throughPieces<T, M>(
  make: (found: readonly T[], lines: Lines) => M,
): (
  pieces: Iterable<Piece<T>>,
  take: (made: M, line: number, piece: Piece<T>) => void,
  check?: () => void,
) => Promise<void> {
  const known = new WeakMap<Chunk, { readonly made: M }>()
  return async (pieces, take, check) => {
    const slices = createSlices('shown')
    let line = 0
    for (const piece of pieces) {
      const { chunk, find } = piece
      let kept = known.get(chunk)
      if (kept === undefined) {
        kept = { made: make(find(), linesOf(chunk)) }
        known.set(chunk, kept)
      }
      take(kept.made, line, piece)
      line += lineCount(chunk)
      const others = slices.rest()
      if (others === undefined) continue
      await others
      check?.()
    }
  }
}
