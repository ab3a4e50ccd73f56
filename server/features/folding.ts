/** Stretches that can be folded: blocks of many lines, comments that stand together, and regions between two comments. */

import { type Chunk, type Span, type Statement, type Token, tokenIndexAt } from '../../grammar/tree.ts'
import type { Workspace } from '../workspace/workspace.ts'
import { moved, onceForChunk, type Piece, piecesOf } from './pieces.ts'

export interface Fold extends Span {
  readonly kind: 'block' | 'comment' | 'region'
}

/** `# region NAME` and `# endregion`, each alone on its line; the language's configuration has the same. */
const regionStart = /^\s*#\s*region\b/
const regionEnd = /^\s*#\s*endregion\b/

interface Marker extends Span {
  readonly role: 'start' | 'end'
}

/** The end of what stands in a block; its closing brace stays in sight when it is folded. */
function insideEnd(tokens: readonly Token[], statement: Statement): number {
  const { block } = statement
  // Without its closing brace a block ends with its last statement, so that what follows stays in sight too.
  if (block?.close === undefined) return block?.statements.at(-1)?.end ?? statement.end
  let last = tokenIndexAt(tokens, block.close.start) - 1
  while (tokens[last]?.kind === 'newline') last--
  return tokens[last]?.end ?? block.close.start
}

function blockFolds(tokens: readonly Token[], statement: Statement, into: Fold[]): void {
  const { block } = statement
  if (block === undefined) return
  into.push({ kind: 'block', start: block.open?.start ?? statement.start, end: insideEnd(tokens, statement) })
  for (const child of block.statements) blockFolds(tokens, child, into)
}

function markerOf({ text, start, end }: Token): Marker | undefined {
  if (regionStart.test(text)) return { role: 'start', start, end }
  return regionEnd.test(text) ? { role: 'end', start, end } : undefined
}

/** Comments that stand alone on their lines, one line after another; without those that bound a region. */
function commentFolds(tokens: readonly Token[], into: Fold[]): void {
  let first: Token | undefined
  let last: Token | undefined
  let newlines = 2
  const finish = (): void => {
    if (first !== undefined && last !== undefined && first !== last)
      into.push({ kind: 'comment', start: first.start, end: last.end })
    first = undefined
    last = undefined
  }
  for (const token of tokens) {
    if (token.kind === 'newline') {
      newlines++
      if (newlines > 1) finish()
      continue
    }
    if (token.kind === 'comment' && newlines > 0 && markerOf(token) === undefined) {
      first ??= token
      last = token
    } else finish()
    newlines = 0
  }
  finish()
}

function foldsIn({ statements, tokens }: Chunk): readonly Fold[] {
  const found: Fold[] = []
  for (const statement of statements) blockFolds(tokens, statement, found)
  commentFolds(tokens, found)
  return found.sort((a, b) => a.start - b.start || b.end - a.end)
}

/** The blocks and comments of a file; those within one line, or that begin on one, are for the caller to leave out. */
export function folds(workspace: Workspace, uri: string): Iterable<Piece<Fold>> {
  return piecesOf(workspace, uri, foldsIn)
}

/** Comments alone on their lines that bound a region; evicted with the chunk. */
const markersOf = onceForChunk(({ text, tokens }: Chunk): readonly Marker[] => {
  if (!text.includes('region')) return []
  return tokens.flatMap((token, index) => {
    const before = tokens[index - 1]
    const isAlone = token.kind === 'comment' && (before === undefined || before.kind === 'newline')
    return (isAlone ? markerOf(token) : undefined) ?? []
  })
})

/** The regions of a file, in the offsets of its text; they go over definitions. One without an end does not count. */
export function regions(workspace: Workspace, uri: string): readonly Fold[] {
  const open: Span[] = []
  const found: Fold[] = []
  for (const { find, start: base } of piecesOf(workspace, uri, markersOf)) {
    for (const marker of find()) {
      const at = moved(base, marker)
      const begun = marker.role === 'end' ? open.pop() : undefined
      if (marker.role === 'start') open.push(at)
      if (begun !== undefined) found.push({ kind: 'region', start: begun.start, end: at.end })
    }
  }
  return found.sort((a, b) => a.start - b.start)
}
