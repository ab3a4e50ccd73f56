/**
 * Lists with one entry for each chunk of a file, kept along its edits: after an edit, entries are made for what stands between
 * the chunks that both texts begin and end with, and nothing is looked up for the others. What an entry is made from is its
 * chunk and what is named as `rests`, and nothing else.
 */

import type { Chunk, PlacedChunk } from '../../grammar/tree.ts'
import { inCommon } from '../semantic/in-common.ts'
import type { Document } from './workspace.ts'

interface Kept<V> {
  readonly chunks: readonly PlacedChunk[]
  readonly rests: readonly unknown[]
  readonly made: readonly V[]
}

const isSameChunk = (one: PlacedChunk | undefined, other: PlacedChunk | undefined): boolean =>
  one?.chunk === other?.chunk

/**
 * Makes a function that gives the list of a document: the very same where no entry is another.
 * @param isOpen whether an entry has to be made again all the same
 */
export function alongEdits<V>(
  isOpen: (made: V) => boolean = () => false,
): (document: Document, rests: readonly unknown[], make: (chunk: Chunk) => V) => readonly V[] {
  /** Evicted with the last version of the file; replaced by that of its next one. */
  const kept = new WeakMap<Document['lineage'], Kept<V>>()
  return ({ lineage, source: { chunks } }, rests, make) => {
    const before = kept.get(lineage)
    const isSame = before?.rests.length === rests.length && before.rests.every((one, index) => one === rests[index])
    const { front, back } = isSame ? inCommon(before.chunks, chunks, isSameChunk) : { front: 0, back: 0 }
    const behind = chunks.length - back
    const moved = before === undefined ? 0 : before.chunks.length - chunks.length
    const madeOf = (chunk: Chunk, index: number): V => {
      const known =
        index < front || index >= behind ? (before?.made[index < front ? index : index + moved] as V) : undefined
      return known === undefined || isOpen(known) ? make(chunk) : known
    }
    const made = chunks.map(({ chunk }, index) => madeOf(chunk, index))
    const isAll = made.length === before?.made.length && made.every((one, index) => one === before.made[index])
    const list = isAll ? before.made : made
    kept.set(lineage, { chunks, rests, made: list })
    return list
  }
}
