/** Fixes for lines that lack something. A fix is tried on the text first: what does not help is not offered. */

import { parseFile } from '../../../grammar/file.ts'
import { onceFor } from '../../../grammar/once.ts'
import { type Chunk, type Span, tokenIndexAt } from '../../../grammar/tree.ts'
import type { Match, MatchProblem } from '../../../grammar/values.ts'
import { languageVersion } from '../../../grammar/vocabulary/index.ts'
import { unusualIn } from '../../semantic/doubted.ts'
import type { Fix } from '../types.ts'
import { matchesOfChunk } from './walk.ts'

interface Edit extends Span {
  readonly text: string
}

/** What does not read in a text, and values far from what is usual: a fix that trades one for another helps nobody. */
function problemsIn(text: string): number {
  let count = 0
  for (const { chunk } of parseFile(text).chunks) {
    count += chunk.problems.length + unusualIn(chunk).length
    for (const { match } of matchesOfChunk(chunk)) count += match.problems.length
  }
  return count
}

/** Many fixes are tried on one text. */
const problemsBefore = onceFor((chunk: Chunk): number => problemsIn(chunk.text))

/**
 * Each try reads the whole text again, and each problem has its tries: in a long text with many problems that is a wait
 * of minutes, and no fix is worth it there.
 */
const mostTried = 16_000

export function helps(chunk: Chunk, { start, end, text }: Edit): boolean {
  if (chunk.text.length * Math.max(1, problemsBefore(chunk)) > mostTried) return false
  return problemsIn(chunk.text.slice(0, start) + text + chunk.text.slice(end)) < problemsBefore(chunk)
}

/** The one word that must stand at the place of a problem, if there is one. */
function lackingWord(problem: Extract<MatchProblem, { problem: 'expected' }>): string | undefined {
  if (problem.what === 'a range `A to B`') return 'to'
  return /^`([a-z-]+)`$/.exec(problem.what)?.[1]
}

/** A comparison as it is written elsewhere: `=>`, `at least`, `below`. */
function comparisons(chunk: Chunk, start: number): Edit[] {
  const [found = '', more, least] =
    /^(?:(=>|at least|min\b|above|over)|(=<|at most|max\b|below|under))\s*/i.exec(chunk.text.slice(start)) ?? []
  const text = more !== undefined ? '>= ' : least !== undefined ? '<= ' : undefined
  return text === undefined ? [] : [{ start, end: start + found.length, text }]
}

function candidates(chunk: Chunk, match: Match, problem: Extract<MatchProblem, { problem: 'expected' }>): Edit[] {
  const { start, end } = problem
  const text = chunk.text.slice(start, end)
  const edits: Edit[] = []
  if (problem.insert !== undefined) edits.push({ start, end: start, text: problem.insert })
  const word = lackingWord(problem)
  if (word !== undefined) {
    edits.push({ start, end: start, text: `${word} ` }, { start: end, end, text: ` ${word}` })
  }
  if (problem.what.endsWith('in double quotes') && /^[\w-]+$/.test(text)) edits.push({ start, end, text: `"${text}"` })
  for (const one of problem.words ?? []) edits.push({ start, end: start, text: `${one} ` })
  if (text === '>' || text === '<') edits.push({ start, end, text: `${text}=` })
  if (problem.what === '`-`' && text === '+') edits.push({ start, end, text: '-' })
  edits.push(...comparisons(chunk, start))
  if (match.word?.word === 'detent' && match.statement.items.length === 1) {
    edits.push({ start: end, end, text: ` ${languageVersion}` })
  }
  return edits
}

function fixOf(chunk: Chunk, edit: Edit): Fix {
  const text = edit.text.trim()
  const title = edit.start === edit.end ? `Insert \`${text}\`` : `Write \`${text}\``
  return { title, edits: [{ chunk, ...edit }], preferred: true }
}

/** The first edit that gives a line what it lacks. */
export function lineFix(
  chunk: Chunk,
  match: Match,
  problem: Extract<MatchProblem, { problem: 'expected' }>,
): readonly Fix[] {
  const edit = candidates(chunk, match, problem).find(candidate => helps(chunk, candidate))
  return edit === undefined ? [] : [fixOf(chunk, edit)]
}

/** Puts a word before another where that makes the line read. */
export function insertBefore(chunk: Chunk, start: number, word: string): readonly Fix[] {
  const edit = { start, end: start, text: `${word} ` }
  return helps(chunk, edit) ? [fixOf(chunk, edit)] : []
}

/** Parts two statements that stand on one line, where that makes more of the text read. */
export function separated(chunk: Chunk, start: number, commaEnd?: number): Fix | undefined {
  const before = chunk.text.slice(0, start).trimEnd().length
  const edit = { start: before, end: commaEnd ?? before, text: ';' }
  return helps(chunk, edit) ? { title: 'Write `;` between', edits: [{ chunk, ...edit }], preferred: true } : undefined
}

/** Takes out a comma between the items of a row of figures, where that makes more of the text read. */
export function withoutComma(chunk: Chunk, start: number): Fix | undefined {
  if (!/(?:^|[\n;{])[ \t]*[-−+]?\d[^\n;{]*$/.test(chunk.text.slice(0, start))) return undefined
  const edit = { start, end: start + 1, text: '' }
  return helps(chunk, edit) ? { title: 'Leave out the comma', edits: [{ chunk, ...edit }], preferred: true } : undefined
}

/** Puts what stands behind a key word into the braces that it wants. */
export function inBraces(chunk: Chunk, head: number, end: number): Fix | undefined {
  const body = chunk.text.slice(head, end)
  const edit = { start: head, end, text: ` {${body} }` }
  return body.trim() !== '' && helps(chunk, edit)
    ? { ...fixOf(chunk, edit), title: `Write \`${edit.text.trim()}\`` }
    : undefined
}

const dash = /^(?:[-\u2010-\u2015\u2212~]|\.\.+|…)$/
const assigning = /^(?::=?|=)$/

/** A sign that people write out of habit, and the line as the language has it. */
export interface HabitualSign {
  readonly fix: Fix
  /** What to write, as the end of a message. */
  readonly advice: string
}

/**
 * Fixes a dash between the ends of a range and a sign between a key word and its value, where that makes more of the
 * text read: the first is taken for `to`, the second is left out.
 * @param start where the sign stands
 */
export function habitualSign(chunk: Chunk, start: number): HabitualSign | undefined {
  const { text, tokens } = chunk
  const index = tokenIndexAt(tokens, start)
  const [before, sign, after] = [tokens[index - 1], tokens[index], tokens[index + 1]]
  if (before === undefined || sign === undefined || after === undefined) return undefined
  const between = { start: before.end, end: after.start }
  if (dash.test(sign.text)) {
    const low = before.kind === 'unit' ? tokens[index - 2] : before
    if (low?.kind !== 'number' || after.kind !== 'number') return undefined
    const next = tokens[index + 2]
    const highUnit = next?.kind === 'unit' ? text.slice(after.end, next.end) : ''
    const lowUnit = text.slice(low.end, before.end)
    // One unit behind both ends is meant for both.
    const joints = lowUnit === '' && highUnit !== '' ? [`${highUnit} to `, ' to '] : [' to ']
    const edit = joints.map(joint => ({ ...between, text: joint })).find(one => helps(chunk, one))
    if (edit === undefined) return undefined
    const range = `\`${text.slice(low.start, before.end)}${edit.text}${after.text}${highUnit}\``
    const fix: Fix = { title: `Write ${range}`, edits: [{ chunk, ...edit }], preferred: true }
    return { fix, advice: `A range is written ${range}.` }
  }
  if (!assigning.test(sign.text)) return undefined
  const edit = { ...between, text: ' ' }
  if (!helps(chunk, edit)) return undefined
  const fix: Fix = { title: `Leave out the \`${sign.text}\``, edits: [{ chunk, ...edit }], preferred: true }
  return { fix, advice: 'A value stands behind its word without a sign: leave it out.' }
}
