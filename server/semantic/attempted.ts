/** What a block evidently means to have on lines that do not read. */

import { nearest } from '../../grammar/nearest.ts'
import type { Match } from '../../grammar/values.ts'
import { type Definition, entry } from './definitions.ts'

/**
 * Key words that a block evidently means to have on lines whose first word does not read: the slip has its own
 * finding, and the key word is not reported missing as well.
 */
export function isAttempted(children: readonly Match[], word: string): boolean {
  return children.some(child => {
    if (child.word !== undefined) return false
    const [first, second] = child.statement.items
    if (first?.kind === 'word' && second?.kind === 'word' && `${first.text}-${second.text}` === word) return true
    // `2 cores`: the value stands before its word.
    if (first?.kind === 'number' && second?.kind === 'word' && second.text === word) return true
    return (first?.kind === 'word' || first?.kind === 'unknown') && nearest(first.text, [word]).length > 0
  })
}

/** Whether every row of a definition's table reads; a row that does not has its own finding, and figures drawn from the rest would be noise. */
export function readsWhole(definition: Definition | undefined, table: string): boolean {
  const found = definition && entry(definition.match, table)
  return found === undefined || found.children.every(child => child.sound)
}
