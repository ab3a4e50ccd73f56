import { parseFile } from '../../../grammar/file.ts'
import type { Chunk, Span } from '../../../grammar/tree.ts'
import type { Match, MatchProblem } from '../../../grammar/values.ts'
import { languageVersion } from '../../../grammar/vocabulary/index.ts'
import type { Fix } from '../types.ts'
import { matchesOfChunk } from './walk.ts'

/** Mends for lines that lack something. A mend is tried on the text first: what does not help is not offered. */

interface Edit extends Span {
  readonly text: string
}

function problemsIn(text: string): number {
  let count = 0
  for (const { chunk } of parseFile(text).chunks) {
    count += chunk.problems.length
    for (const { match } of matchesOfChunk(chunk)) count += match.problems.length
  }
  return count
}

function helps(chunk: Chunk, { start, end, text }: Edit): boolean {
  return problemsIn(chunk.text.slice(0, start) + text + chunk.text.slice(end)) < problemsIn(chunk.text)
}

/** The one word that must stand at the place of a problem, if there is one. */
function lackingWord(problem: Extract<MatchProblem, { problem: 'expected' }>): string | undefined {
  if (problem.what === 'a range `A to B`') return 'to'
  return /^`([a-z-]+)`$/.exec(problem.what)?.[1]
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
  if (text === '>' || text === '<') edits.push({ start, end, text: `${text}=` })
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
export function mendFor(
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
