/** Did you mean: the candidates that a word is a slip of. */

import damerau from 'damerau-levenshtein'

/** How many single slips lie between two words: a letter too many, missing, wrong, or two neighbours swapped. */
function slipsBetween(a: string, b: string): number {
  return damerau(a, b).steps
}

/** Candidates within reach of a slip, the nearest first: a third of the letters may be wrong, one in short words. */
export function nearest(word: string, candidates: Iterable<string>): readonly string[] {
  const found: { candidate: string; slips: number }[] = []
  for (const candidate of new Set(candidates)) {
    const most = Math.max(1, Math.floor(Math.max(word.length, candidate.length) / 3))
    if (Math.abs(word.length - candidate.length) > most) continue
    const slips = slipsBetween(word.toLowerCase(), candidate.toLowerCase())
    // In a very short word one slip can make any other word.
    if (slips <= most && slips < candidate.length) found.push({ candidate, slips })
  }
  found.sort((a, b) => a.slips - b.slips || (a.candidate < b.candidate ? -1 : 1))
  return found.map(({ candidate }) => candidate)
}

/** The sentence and the fixes' texts: at most three, and only those as near as the nearest. */
export function didYouMean(word: string, candidates: Iterable<string>): readonly string[] {
  const given = [...candidates]
  const all = nearest(word, given)
  const first = all[0]
  // A word of several that stands alone is no slip, but tells as much.
  if (first === undefined) return given.filter(candidate => candidate.split('-').includes(word)).slice(0, 3)
  const slips = (candidate: string): number => slipsBetween(word.toLowerCase(), candidate.toLowerCase())
  const least = slips(first)
  return all.filter(candidate => slips(candidate) === least).slice(0, 3)
}
