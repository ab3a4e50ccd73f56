/** Fixes that several checks offer. */

import { didYouMean } from '../../../grammar/nearest.ts'
import type { Chunk, Span } from '../../../grammar/tree.ts'
import { quotedList } from '../../wording/counts.ts'
import type { Fix, Place } from '../types.ts'

/** One edit that a person would take without thinking. */
export function replaceFix(title: string, at: Place, text: string): Fix {
  return { title, edits: [{ ...at, text }], preferred: true }
}

/** The same fix where it is one choice among others, or a deliberate one. */
export function choice(fix: Fix): Fix {
  return { title: fix.title, edits: fix.edits }
}

/** What is taken out of the text when a statement is removed: its line where it has one to itself, else what joins it. */
export function removalSpan(chunk: Chunk, statement: Span): Span {
  const { text } = chunk
  const lineStart = text.lastIndexOf('\n', statement.start - 1) + 1
  const lineEnd = text.indexOf('\n', statement.end)
  const before = text.slice(lineStart, statement.start)
  const after = text.slice(statement.end, lineEnd < 0 ? text.length : lineEnd)
  if (before.trim() === '') {
    if (after.trim() === '') return { start: lineStart, end: lineEnd < 0 ? text.length : lineEnd + 1 }
    // What is left of the line, a comment or a further statement, moves up to its indent.
    const gap = /^\s*;?\s*/.exec(after)?.[0].length ?? 0
    return { start: statement.start, end: statement.end + gap }
  }
  const joined = /^[^\S\n]*;[^\S\n]*/.exec(after)?.[0].length
  if (joined !== undefined) return { start: statement.start, end: statement.end + joined }
  const blank = before.trimEnd()
  const kept = blank.endsWith(';') ? blank.slice(0, -1).trimEnd() : blank
  return { start: lineStart + kept.length, end: statement.end }
}

/** Takes a statement out of its chunk. */
export function removeFix(title: string, chunk: Chunk, statement: Span): Fix {
  return { title, edits: [{ chunk, ...removalSpan(chunk, statement), text: '' }], preferred: true }
}

/** Did you mean: the sentence for the message, and one fix for each candidate. */
export function suggestions(
  word: string,
  candidates: Iterable<string>,
  at: Place,
): { readonly sentence: string; readonly fixes: readonly Fix[] } {
  const near = didYouMean(word, candidates)
  const fixes = near.map(candidate => replaceFix(`Write \`${candidate}\``, at, candidate))
  return {
    sentence: near.length === 0 ? '' : ` Did you mean ${quotedList(near, 'or')}?`,
    fixes: fixes.length === 1 ? fixes : fixes.map(choice),
  }
}
