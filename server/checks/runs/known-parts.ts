/** The parts of a chunk, for checks of what was seen of them. */
import type { Chunk } from '../../../grammar/tree.ts'
import { type Definition, readChunk } from '../../semantic/definitions.ts'

export function partsIn(chunk: Chunk): readonly Definition[] {
  return readChunk(chunk).definitions.filter(({ kind }) => kind === 'part')
}
