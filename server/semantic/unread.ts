/**
 * Whether the text that a profile rests on reads. A statement that does not read is left out of the prediction, and a
 * default may stand in its place: such figures are of a bench that nobody meant, and come and go while a line is typed.
 */

import { matchChunk } from '../../grammar/match.ts'
import { onceFor } from '../../grammar/once.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import type { Match } from '../../grammar/values.ts'
import { type Definition, mentions } from './definitions.ts'
import type { ResolvedProfile } from './profile.ts'

/** What does not read, in the chunk's offsets. */
export interface Unread extends Span {
  readonly chunk: Chunk
  /** Absent where braces or single characters are wrong, not a statement. */
  readonly match?: Match
}

export interface ReadState {
  /** What does not read of all that a prediction may rest on, in the order of the text. */
  readonly unread: readonly Unread[]
  /** A definition other than a profile or a run lost its name or key word, so that whoever names it cannot find it. */
  readonly lostDefinition: boolean
}

/** Remarks, acceptances, expectations and what is only carried change no figure. */
function changesFigures({ word }: Match): boolean {
  return word?.carried !== true && word?.word !== 'allow' && word?.word !== 'expect'
}

/** Points that were seen change no figure of a part that states what it needs. */
const isMemory = ({ word }: Match, parent: Match | undefined): boolean =>
  word?.word === 'known' && parent !== undefined && mentions(parent, 'needs')

function collect(chunk: Chunk, match: Match, parent: Match | undefined, into: Unread[], quiet: Span[]): void {
  const { start, end, items } = match.statement
  if (!changesFigures(match) || isMemory(match, parent)) quiet.push({ start, end })
  else {
    if (!match.sound) into.push({ chunk, match, start, end: items.at(-1)?.end ?? end })
    for (const child of match.children) collect(chunk, child, match, into, quiet)
  }
}

/** How a chunk reads. */
export const readStateOf = onceFor((chunk: Chunk): ReadState => {
  const matches = matchChunk(chunk)
  const unread: Unread[] = []
  const quiet: Span[] = []
  for (const match of matches) collect(chunk, match, undefined, unread, quiet)
  const told = [...unread, ...quiet]
  for (const { start, end } of chunk.problems)
    if (!told.some(one => start >= one.start && end <= one.end)) unread.push({ chunk, start, end })
  return {
    unread: unread.sort((a, b) => a.start - b.start),
    lostDefinition: matches.some(({ sound, word }) => !sound && word?.word !== 'profile' && word?.word !== 'run'),
  }
})

export const readsWhole = ({ chunk }: Definition): boolean => readStateOf(chunk).unread.length === 0

/**
 * What does not read of a profile, of those it starts from and of what they name. Its loads are not among them: one that
 * does not read takes nothing from the others.
 */
export function unreadOf({ chain, part, cooler, room, board }: ResolvedProfile): readonly Unread[] {
  return [...chain, part, cooler, room, board].flatMap(one => (one === undefined ? [] : readStateOf(one.chunk).unread))
}

/** The same, and what does not read of its loads. */
export function unreadWith(profile: ResolvedProfile): readonly Unread[] {
  return [...unreadOf(profile), ...profile.loads.flatMap(load => readStateOf(load.chunk).unread)]
}

/** The first line of what does not read. */
export function unreadText({ chunk, start, end }: Unread): string {
  return chunk.text.slice(start, end).split(/[\r\n]/)[0] ?? ''
}

/** In the language's spelling, what stands in the place of lines that do not read: a default, or else nothing. */
export function standIns(unread: readonly Unread[], isStated: (word: string) => boolean): readonly string[] {
  return unread.flatMap(one => {
    const word = one.match?.word
    if (one.match === undefined) return []
    return word?.default === undefined || isStated(word.word)
      ? `without \`${unreadText(one)}\``
      : `${word.word} ${word.default.text}`
  })
}
