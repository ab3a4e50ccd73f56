/** What stands in a profile and is not entered because its line does not read, or because a later line counts. */

import type { Chunk } from '../../../grammar/tree.ts'
import type { Match } from '../../../grammar/values.ts'
import { enteredWords, limitWords, mergedWords, tableWords } from '../../../grammar/vocabulary/index.ts'
import { entries, entry, nameAfter, rows, text } from '../../semantic/definitions.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import type { LeftOut } from './types.ts'

/** A statement as it stands, on one line, without its block. */
export function written({ text: whole }: Pick<Chunk, 'text'>, { statement }: Match): string {
  const end = statement.items.at(-1)?.end ?? statement.end
  return whole.slice(statement.start, end).replace(/\s+/g, ' ').trim()
}

const brokenLine = 'this line is in error'

/** Lines in error. One that a nearer profile gives again is not in the profile at all. */
export function linesInError(profile: ResolvedProfile): readonly LeftOut[] {
  const found: LeftOut[] = []
  profile.chain.forEach((link, depth) => {
    const nearer = profile.chain.slice(0, depth)
    const leaveOut = (match: Match): void => {
      found.push({ text: written(link.chunk, match), why: brokenLine })
    }
    for (const child of link.match.children) {
      const word = child.word?.word ?? ''
      if (word !== '' && !enteredWords.includes(word)) continue
      const isMerged = mergedWords.includes(word)
      const name = nameAfter(child)
      if (!isMerged && word !== '' && nearer.some(other => entry(other.match, word, name) !== undefined)) continue
      if (!child.sound) leaveOut(child)
      else if (isMerged || (tableWords.includes(word) && profile.key(word, name)?.match === child)) {
        for (const inner of child.children) {
          const key = inner.word?.word ?? ''
          const isShadowed = nearer.some(other => {
            const block = entry(other.match, word)
            return block !== undefined && key !== '' && entry(block, key, nameAfter(inner)) !== undefined
          })
          if (!inner.sound && !(isMerged && isShadowed)) leaveOut(inner)
        }
      }
    }
  })
  return found
}

/** Keys given again further down in the same block: the last one counts. */
export function givenAgain(profile: ResolvedProfile): readonly LeftOut[] {
  const found: LeftOut[] = []
  for (const link of profile.chain) {
    const inBlock = (block: Match, words: readonly string[]): void => {
      for (const word of words) {
        const all = entries(block, word)
        for (const match of all) {
          // One for another group or rail is no repetition.
          if (all.findLast(other => nameAfter(other) === nameAfter(match)) === match) continue
          found.push({ text: written(link.chunk, match), why: 'it is given again below, and the last one counts' })
        }
      }
    }
    // A key of a base that is given again nearer is no part of this profile, once or twice.
    const counts = (word: string): boolean =>
      entries(link.match, word).some(match => profile.key(word, nameAfter(match))?.match === match)
    inBlock(
      link.match,
      enteredWords.filter(word => !mergedWords.includes(word) && counts(word)),
    )
    for (const word of mergedWords) {
      inBlock(link.match, [word])
      const block = entry(link.match, word)
      if (block !== undefined) inBlock(block, word === 'limits' ? limitWords : ['core'])
    }
  }
  return found
}

/** The last `also` row of each name counts. */
export function alsoRows(profile: ResolvedProfile): {
  readonly settings: ReadonlyMap<string, string>
  readonly leftOut: readonly LeftOut[]
} {
  const settings = new Map<string, string>()
  const leftOut: LeftOut[] = []
  const table = profile.key('also')
  for (const row of table === undefined ? [] : rows(table.match)) {
    const name = text(row, 'setting')?.text ?? ''
    const before = settings.get(name)
    if (before !== undefined) {
      leftOut.push({ text: `"${name}" "${before}"`, why: 'it is given again below, and the last one counts' })
      settings.delete(name)
    }
    settings.set(name, text(row, 'value')?.text ?? '')
  }
  return { settings, leftOut }
}
