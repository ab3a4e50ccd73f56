/** A key of other notations that stands where one is missing. */

import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { wordsIn } from '../../../grammar/vocabulary/index.ts'
import { mentions } from '../../semantic/definitions.ts'
import { helps } from './line-fixes.ts'

/**
 * The one key that a block needs and lacks, and as which a line with an unknown word would read: `base 100 MHz` in a part
 * without a `reference`. Undefined where there is none, or more than one.
 */
export function meantKey(chunk: Chunk, block: Match, line: Match): string | undefined {
  const [first] = line.statement.items
  if (line.word !== undefined || first?.kind !== 'word') return undefined
  const { start, end } = first
  // In a long text nothing is tried, and nothing else looked for.
  const serving = wordsIn(line.place).filter(
    ({ word, required }) =>
      required === true && word !== '' && helps(chunk, { start, end, text: word }) && !mentions(block, word),
  )
  return serving.length === 1 ? serving[0]?.word : undefined
}
