import { parseChunk } from './parser.ts'
import type { Chunk, PlacedChunk, SourceFile } from './tree.ts'
import { definitionWords, opensBlock } from './vocabulary/index.ts'

/**
 * A file is cut into chunks before it is parsed: one for each line that opens a definition (`word name … {`),
 * and one for what stands before the first. Such a line closes every open block, so a chunk's tree depends on
 * its own text alone; a chunk whose text did not change is reused, wherever it moved.
 */

const space = '[ \\t\\u00a0\\u202f\\ufeff]'
const words = definitionWords.join('|')
const opener = new RegExp(`^${space}*(?:${words})${space}+[\\p{L}_][^\\n\\r#"{]*(?:"[^"\\n\\r]*"[^\\n\\r#"{]*)*\\{`, 'gmu')
/** A definition whose `{` was lost: at the margin, with a deeper-indented line after it. */
const braceless = new RegExp(`^(?:${words})${space}+[\\p{L}_][^\\n\\r{]*(?=(?:\\r\\n|\\n|\\r)(?:${space}*(?:\\r\\n|\\n|\\r))*${space}+[^\\s}])`, 'gmu')

/** Offsets at which the chunks of a text begin; the first is always 0. */
function chunkStarts(text: string): number[] {
  const starts = new Set<number>([0])
  for (const pattern of [opener, braceless]) {
    for (const match of text.matchAll(pattern)) starts.add(match.index)
  }
  return [...starts].sort((a, b) => a - b)
}

/**
 * Parses a file. Never throws.
 * @param previous an earlier version of the same file; its chunks with equal text are reused as they are.
 */
export function parseFile(text: string, previous?: SourceFile): SourceFile {
  const reusable = new Map<string, Chunk[]>()
  for (const { chunk } of previous?.chunks ?? []) {
    const same = reusable.get(chunk.text)
    if (same === undefined) reusable.set(chunk.text, [chunk])
    else same.push(chunk)
  }
  const starts = chunkStarts(text)
  const chunks = starts.map((start, index): PlacedChunk => {
    const own = text.slice(start, starts[index + 1] ?? text.length)
    return { start, chunk: reusable.get(own)?.shift() ?? parseChunk(own, opensBlock) }
  })
  return { text, chunks }
}
