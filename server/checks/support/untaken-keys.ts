/** Statements for every group of a part that no group takes, since each has its own. */

import type { Match } from '../../../grammar/values.ts'
import { findWord } from '../../../grammar/vocabulary/index.ts'
import { type Definition, entries, entry, mentions, nameAfter } from '../../semantic/definitions.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { Found } from '../types.ts'
import { removeFix } from './edits.ts'
import { headPlace } from './place.ts'

function found(definition: Definition, match: Match, what: string): Found {
  const { chunk } = definition
  return {
    at: headPlace({ chunk }, match),
    message: `Every group has its own \`${what}\`, so none takes this one. The line changes nothing: remove it.`,
    fixes: [removeFix('Remove it', chunk, match.statement)],
  }
}

/** Keys of a part that each of its groups states. */
export function* untakenInPart(definition: Definition): Iterable<Found> {
  const groups = definition.kind === 'part' ? groupBlocks(definition.match) : []
  if (groups.length === 0) return
  for (const match of definition.match.children) {
    const word = match.word?.word ?? ''
    if (!match.sound || word === '' || match.word?.carried === true || findWord('group', word) !== match.word) continue
    if (match.word?.in.includes('file') === true) continue
    if (groups.every(({ block }) => mentions(block, word))) yield found(definition, match, word)
  }
}

/** Settings of a profile for every group, where it states one for each group of its part. */
export function* untakenInProfile({ definition, part }: ResolvedProfile): Iterable<Found> {
  const { groups } = partNames(part)
  if (groups.length === 0) return
  const voltage = entry(definition.match, 'voltage')
  const blocks: readonly (readonly [Match | undefined, readonly string[]])[] = [
    [definition.match, ['steps', 'bands', 'vector']],
    [voltage, ['core']],
  ]
  for (const [block, words] of blocks) {
    if (block === undefined) continue
    for (const word of words) {
      const lines = entries(block, word)
      const own = lines.find(line => nameAfter(line) === undefined)
      const named = new Set(lines.flatMap(line => nameAfter(line) ?? []))
      if (own !== undefined && groups.every(name => named.has(name))) yield found(definition, own, word)
    }
  }
}
