/** What two lists begin and end with alike: between them stands what an edit touched. */

/** How many entries are the same at the beginnings of two lists, and how many of the rest at their ends. */
export function inCommon<T>(
  before: readonly T[],
  after: readonly T[],
  isSame: (one: T | undefined, other: T | undefined) => boolean,
): { readonly front: number; readonly back: number } {
  const most = Math.min(before.length, after.length)
  let front = 0
  while (front < most && isSame(before[front], after[front])) front++
  let back = 0
  while (back < most - front && isSame(before.at(-1 - back), after.at(-1 - back))) back++
  return { front, back }
}
