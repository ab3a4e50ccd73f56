/** One slip that is made at both ends of a range is one finding. */

import type { Found } from '../types.ts'

/** What stands between the two ends, up to the number of the second where only its unit is at fault. */
const between = /^ {0,4}to {0,4}(?:- ?)?(?:\d[\d.]{0,12} {0,4})?$/

/** What a fix writes, by its title. */
const writtenBy = (found: Found): string | undefined => /^Write `([^`]+)`$/.exec(found.fixes?.[0]?.title ?? '')?.[1]

function joined(first: Found, second: Found): Found {
  const at = { ...first.at, end: second.at.end }
  const text = ({ chunk, start, end }: typeof at): string => chunk.text.slice(start, end)
  const [low, high] = [writtenBy(first), writtenBy(second)]
  const whole = /^[\d-]/.test(text(first.at)) ? first.message.replace(text(first.at), text(at)) : first.message
  if (low === undefined || high === undefined) {
    const { fixes: _, ...rest } = first
    return { ...rest, at, message: whole }
  }
  const written = `${low} to ${high}`
  const edits = [first, second].flatMap(({ fixes }) => fixes?.[0]?.edits ?? [])
  const message = whole.replace(`\`${low}\``, `\`${written}\``)
  return { ...first, at, message, fixes: [{ title: `Write \`${written}\``, edits, preferred: true }] }
}

/** The same findings, those of one check at both ends of a range made one. @param found in the order of their places */
export function* joinedRanges(found: Iterable<Found>): Iterable<Found> {
  let last: Found | undefined
  for (const one of found) {
    const isRange =
      last !== undefined &&
      last.at.chunk === one.at.chunk &&
      between.test(one.at.chunk.text.slice(last.at.end, Math.min(one.at.start, last.at.end + 40)))
    if (last !== undefined && isRange) last = joined(last, one)
    else {
      if (last !== undefined) yield last
      last = one
    }
  }
  if (last !== undefined) yield last
}
