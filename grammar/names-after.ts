/** The name behind a key word: it is there where one word more stands than without it. */

import type { Item } from './tree.ts'
import type { Slot } from './vocabulary/types.ts'

/** How many words a form begins with before anything else must stand. */
function wordsBefore(slots: readonly Slot[]): number {
  const last = slots.findIndex(({ slot }) => slot !== 'literal' && slot !== 'choice' && slot !== 'reference')
  return last < 0 ? slots.length : last
}

/**
 * Whether the word at a place is such a name.
 * @param slots what follows the name in the form
 */
export function isNameAfter(items: readonly Item[], at: number, slots: readonly Slot[]): boolean {
  let words = 0
  while (items[at + words]?.kind === 'word') words++
  const name = items[at]
  // `>` and `=>` are words of no name.
  if (name?.kind !== 'word' || !/^[a-z]/i.test(name.text)) return false
  // Behind a form's last slot it is the only word left; before others, one that something follows.
  if (slots.length === 0) return words === 1 && items.length === at + 1
  // A comparison stands behind the name at once: `holds at least 5 GHz` has a slip, and no name.
  const next = items[at + 1]?.kind
  if (slots[0]?.slot === 'compare' && (next === 'word' || next === 'number')) return false
  return words > wordsBefore(slots) && items.length > at + 1
}
