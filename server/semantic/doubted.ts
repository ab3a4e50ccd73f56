/** Values so far from what is usual that they count as slips. */

import { matchChunk } from '../../grammar/match.ts'
import { onceFor } from '../../grammar/once.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Match, Quantity } from '../../grammar/values.ts'
import type { Usual } from '../../grammar/vocabulary/index.ts'
import { mentions, readChunk } from './definitions.ts'
import type { ResolvedProfile } from './profile.ts'

/**
 * Values so far from what is usual that they are slips until somebody says otherwise: `switching 1.85 pF`. Whatever is
 * predicted from one is of a bench that nobody has, and is not judged while it stands.
 */
export interface Doubted extends Span {
  readonly chunk: Chunk
  readonly match: Match
  /** The end of a range, or the whole value. */
  readonly quantity: Quantity
  readonly usual: Usual
}

/** Rounding of a bound decides nothing. */
const tolerance = 1e-9

function isOutside({ value, dimension }: Quantity, { low, high }: Usual): boolean {
  const size = dimension === 'temperature' ? value : Math.abs(value)
  const isNone = size === 0 && dimension !== 'temperature'
  return !isNone && (size < low - tolerance * Math.abs(low) || size > high + tolerance * Math.abs(high))
}

function collect(chunk: Chunk, match: Match, into: Doubted[]): void {
  const usual = match.sound ? match.word?.usual : undefined
  for (const [slot, range] of Object.entries(usual ?? {})) {
    const value = match.values.get(slot)
    const quantities = value?.kind === 'range' ? [value.low, value.high] : value?.kind === 'quantity' ? [value] : []
    // A single value that stands for both ends is one value.
    for (const quantity of new Set(quantities)) {
      if (!isOutside(quantity, range)) continue
      const { start } = quantity
      // A number that does not read has its finding, and may be another one.
      if (chunk.problems.some(one => one.start < quantity.end && one.end > start)) continue
      // What stands behind `±` is not in question.
      const written = chunk.text.slice(start, quantity.end)
      const end = start + (written.split(/±|\+-|\+\u2212/, 1)[0] ?? '').trimEnd().length
      into.push({ chunk, match, quantity, usual: range, start, end })
    }
  }
  for (const child of match.children) collect(chunk, child, into)
}

/** Every value of a chunk that is far from usual, accepted or not. Computed once for a chunk. */
export const unusualIn: (chunk: Chunk) => readonly Doubted[] = onceFor(chunk => {
  const found: Doubted[] = []
  for (const match of matchChunk(chunk)) collect(chunk, match, found)
  return found.sort((a, b) => a.start - b.start)
})

/** The code under which one is found and accepted. */
export const doubtedCode = 'magnitude'

/** Those of a chunk that no `allow` in its own block accepts. */
const doubtedIn: (chunk: Chunk) => readonly Doubted[] = onceFor(chunk => {
  const accepted = readChunk(chunk).allows.flatMap(({ code, covers }) => (code === doubtedCode ? (covers ?? []) : []))
  return unusualIn(chunk).filter(
    ({ start, end }) => !accepted.some(covers => start >= covers.start && end <= covers.end),
  )
})

/** What is doubted of all that a profile's predictions rest on; its expectations are not among them. */
export const doubtedOf = onceFor(({ chain, part, cooler, room, board }: ResolvedProfile): readonly Doubted[] =>
  [...chain, part, cooler, room, board].flatMap(one =>
    one === undefined
      ? []
      : doubtedIn(one.chunk).filter(({ match, start, end }) => {
          const { statement } = one.match
          const isOwn = start >= statement.start && end <= statement.end
          const isMemory = match.place === 'known' && mentions(one.match, 'needs')
          return isOwn && !isMemory && match.word?.word !== 'expect'
        }),
  ),
)

/** Whether something of this statement itself is doubted. */
export function isDoubted(chunk: Chunk, match: Match): boolean {
  return doubtedIn(chunk).some(one => one.match === match)
}

/** As it stands in the text: `switching 1.85 pF`. */
export function doubtedText({ chunk, match, start, end }: Doubted): string {
  const word = match.word?.word ?? ''
  const value = chunk.text.slice(start, end)
  return word === '' ? chunk.text.slice(match.statement.start, end) : `${word} ${value}`
}
