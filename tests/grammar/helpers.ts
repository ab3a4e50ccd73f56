/** Texts read as far as the grammar goes, for its tests. */

import { parseFile } from '../../grammar/file.ts'
import { matchChunk } from '../../grammar/match.ts'
import type { SourceFile, Token } from '../../grammar/tree.ts'
import type { Match, MatchProblem } from '../../grammar/values.ts'

/** A file with every match of it, children after their parents. */
export interface ReadText {
  readonly file: SourceFile
  readonly matches: readonly Match[]
}

export function read(text: string): ReadText {
  const file = parseFile(text)
  const matches: Match[] = []
  const visit = (match: Match): void => {
    matches.push(match)
    for (const child of match.children) visit(child)
  }
  for (const { chunk } of file.chunks) for (const match of matchChunk(chunk)) visit(match)
  return { file, matches }
}

/** All syntax problems of a file as `reason "text under it"`, in order. */
export function syntaxOf(text: string): string[] {
  const { chunks } = parseFile(text)
  return chunks.flatMap(({ chunk }) =>
    chunk.problems.map(problem => `${problem.reason} "${chunk.text.slice(problem.start, problem.end)}"`),
  )
}

/** Every token of a file but line ends, in the one spelling. */
export function canonicalTokens(text: string): string[] {
  return tokensOf(text)
    .filter(token => token.kind !== 'newline')
    .map(token => (token.kind === 'comment' ? token.text.trimEnd() : token.canonical))
}

export function tokensOf(text: string): Token[] {
  return parseFile(text).chunks.flatMap(({ start, chunk }) =>
    chunk.tokens.map(token => ({ ...token, start: token.start + start, end: token.end + start })),
  )
}

/** The match of the one line in a fixture that is marked with `<<`, with the problems as text. */
export function readMarked(fixture: string): { match: Match; problems: string[]; chunkText: string } {
  const at = fixture.indexOf('<<')
  const line = fixture.lastIndexOf('\n', at) + 1
  const text = fixture.replace('<<', '')
  const file = parseFile(text)
  for (const { start, chunk } of file.chunks) {
    const find = (matches: readonly Match[]): Match | undefined => {
      for (const match of matches) {
        const own = match.statement.start + start
        if (own >= line && own < at) return match
        const inner = find(match.children)
        if (inner !== undefined) return inner
      }
      return undefined
    }
    const match = find(matchChunk(chunk))
    if (match !== undefined)
      return { match, problems: match.problems.map(problem => problemText(problem, chunk.text)), chunkText: chunk.text }
  }
  throw new Error(`No statement on the marked line of ${JSON.stringify(fixture)}.`)
}

/** A problem as `what "text under it"` with what a fix would need. */
function problemText(problem: MatchProblem, text: string): string {
  const under = JSON.stringify(text.slice(problem.start, problem.end))
  switch (problem.problem) {
    case 'unknown-word':
      return `unknown-word ${under} of ${problem.candidates.join(' ')}`
    case 'unit-missing':
      return `unit-missing ${under} -> ${problem.suggestion}`
    case 'unit-mismatch':
      return `unit-mismatch ${under} ${problem.found.symbol} -> ${problem.suggestion ?? 'none'}`
    case 'range-reversed':
      return `range-reversed ${under} -> ${problem.swapped}`
    case 'value-range':
      return `value-range ${under} ${JSON.stringify(problem.bounds)}${problem.unit}`
    case 'expected':
      return `expected ${under} ${problem.what}${problem.insert === undefined ? '' : ` insert ${problem.insert}`}`
    default:
      return `${problem.problem} ${under}`
  }
}
