/** Did you mean: the candidates that a word is a slip of. */

/**
 * How many single slips (a letter too many, missing, wrong, or two swapped) lie between two words: the optimal
 * string alignment distance. Words of the language are short, so the plain table is fast enough.
 */
export function slipsBetween(a: string, b: string): number {
  let beforeLast: number[] = []
  let last = Array.from({ length: b.length + 1 }, (_, index) => index)
  for (let i = 1; i <= a.length; i++) {
    const row = [i]
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1]
      let least = Math.min(
        (last[j] as number) + 1,
        (row[j - 1] as number) + 1,
        (last[j - 1] as number) + (same ? 0 : 1),
      )
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        least = Math.min(least, (beforeLast[j - 2] as number) + 1)
      }
      row.push(least)
    }
    beforeLast = last
    last = row
  }
  return last[b.length] as number
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
