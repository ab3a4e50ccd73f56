import type { Span, Statement, Token } from '../../grammar/tree.ts'
import type { Workspace } from '../workspace/workspace.ts'

/** Stretches that can be folded: blocks of many lines, and comments that stand together. */

export interface Fold extends Span {
  readonly kind: 'block' | 'comment'
}

/** The end of what stands in a block; its closing brace stays in sight when it is folded. */
function insideEnd(tokens: readonly Token[], statement: Statement): number {
  const { block } = statement
  // Without its closing brace a block ends with its last statement, so that what follows stays in sight too.
  if (block?.close === undefined) return block?.statements.at(-1)?.end ?? statement.end
  const close = tokens.indexOf(block.close)
  return tokens.slice(0, close).findLast(token => token.kind !== 'newline')?.end ?? block.close.start
}

function blockFolds(tokens: readonly Token[], statement: Statement, base: number, into: Fold[]): void {
  const { block } = statement
  if (block === undefined) return
  const start = block.open?.start ?? statement.start
  into.push({ kind: 'block', start: base + start, end: base + insideEnd(tokens, statement) })
  for (const child of block.statements) blockFolds(tokens, child, base, into)
}

/** Comments that stand alone on their lines, one line after another. */
function commentFolds(tokens: readonly Token[], base: number, into: Fold[]): void {
  let first: Token | undefined
  let last: Token | undefined
  let newlines = 2
  const finish = (): void => {
    if (first !== undefined && last !== undefined && first !== last)
      into.push({ kind: 'comment', start: base + first.start, end: base + last.end })
    first = undefined
    last = undefined
  }
  for (const token of tokens) {
    if (token.kind === 'newline') {
      newlines++
      if (newlines > 1) finish()
      continue
    }
    if (token.kind === 'comment' && newlines > 0) {
      first ??= token
      last = token
    } else finish()
    newlines = 0
  }
  finish()
}

/** The folds of a file, in the offsets of its text; those on one line are for the caller to leave out. */
export function folds(workspace: Workspace, uri: string): readonly Fold[] {
  const document = workspace.document(uri)
  if (document === undefined) return []
  const found: Fold[] = []
  for (const { chunk, start } of document.source.chunks) {
    for (const statement of chunk.statements) blockFolds(chunk.tokens, statement, start, found)
    commentFolds(chunk.tokens, start, found)
  }
  return found.sort((a, b) => a.start - b.start || b.end - a.end)
}
