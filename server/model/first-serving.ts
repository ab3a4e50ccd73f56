/** One search by halves over whole numbers, for ratios, steps and places in a list. */

/**
 * The first whole number above `below` that serves, where every one above it serves as well. `last` counts as one that
 * does and is not asked; `below` as one that does not.
 */
export function firstServing(below: number, last: number, serves: (at: number) => boolean): number {
  let [low, high] = [below, last]
  while (high - low > 1) {
    const middle = (low + high) >> 1
    if (serves(middle)) high = middle
    else low = middle
  }
  return high
}
