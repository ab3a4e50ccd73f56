/**
 * The tree: plain data about one text, nothing of meaning. All offsets are UTF-16 units counted
 * from the start of the chunk, so that a chunk whose text did not change is the same tree wherever
 * it moved in its file.
 */

export type TokenKind =
  | 'word'
  | 'number'
  | 'unit'
  | 'sign'
  | 'plus-minus'
  | 'compare'
  | 'string'
  | 'date'
  | 'time'
  | 'open'
  | 'close'
  | 'separator'
  | 'newline'
  | 'comment'
  | 'unknown'

export interface Token {
  readonly kind: TokenKind
  /** As written. */
  readonly text: string
  /** The one spelling that the formatter writes; equal to `text` unless it is a variant. */
  readonly canonical: string
  readonly start: number
  readonly end: number
}

/** A half-open stretch of a chunk's text. */
export interface Span {
  readonly start: number
  readonly end: number
}

export type Item =
  | (Span & { readonly kind: 'word'; readonly text: string })
  | (Span & {
      readonly kind: 'number'
      readonly value: number
      readonly number: Token
      readonly unit: Token | undefined
    })
  | (Span & { readonly kind: 'sign'; readonly sign: '+' | '-' })
  | (Span & { readonly kind: 'plus-minus' })
  | (Span & { readonly kind: 'compare'; readonly operator: string })
  | (Span & { readonly kind: 'string'; readonly text: string })
  | (Span & { readonly kind: 'date'; readonly text: string })
  | (Span & { readonly kind: 'time'; readonly text: string })
  /** A unit without a number, behind a string. */
  | (Span & { readonly kind: 'unit'; readonly text: string })
  | (Span & { readonly kind: 'unknown'; readonly text: string })

/** Items on one line, optionally a block. */
export interface Statement extends Span {
  readonly items: readonly Item[]
  readonly block: Block | undefined
}

export interface Block extends Span {
  /** Absent where the brace was lost and the block counts as opened. */
  readonly open: Token | undefined
  readonly close: Token | undefined
  readonly statements: readonly Statement[]
}

/** What the lexer, the layout and the parser can find wrong; the check `syntax` words it. */
export type SyntaxReason =
  | 'unknown-character'
  | 'malformed-word'
  | 'decimal-comma'
  | 'bare-point'
  | 'trailing-point'
  | 'exponent'
  | 'separator-in-number'
  | 'unclosed-string'
  | 'foreign-quotes'
  | 'slash-comment'
  | 'unclosed-block'
  | 'missing-open'
  | 'stray-close'
  | 'missing-line-end'
  | 'block-without-head'
  | 'nested-too-deep'
  | 'too-long'
  | 'not-utf8'

export interface SyntaxProblem extends Span {
  readonly reason: SyntaxReason
  /** The fix where one edit fixes it. */
  readonly replacement?: string
}

/** A definition with what follows it up to the next, or the lines before the first one. */
export interface Chunk {
  readonly text: string
  readonly tokens: readonly Token[]
  readonly statements: readonly Statement[]
  readonly problems: readonly SyntaxProblem[]
}

/** A chunk at its place in a file. */
export interface PlacedChunk {
  readonly start: number
  readonly chunk: Chunk
}

export interface SourceFile {
  readonly text: string
  readonly chunks: readonly PlacedChunk[]
}

/** Which of a chunk's tokens begins at an offset; -1 where none does. */
export function tokenIndexAt(tokens: readonly Token[], start: number): number {
  let [low, high] = [0, tokens.length]
  while (low < high) {
    const middle = (low + high) >> 1
    if ((tokens[middle] as Token).start < start) low = middle + 1
    else high = middle
  }
  return tokens[low]?.start === start ? low : -1
}

/** Which chunk holds an offset of the file; the last one for an offset past the end, the first for one before it. */
function chunkIndexAt({ chunks }: SourceFile, offset: number): number {
  let low = 0
  let high = chunks.length - 1
  while (low < high) {
    const middle = (low + high + 1) >> 1
    if ((chunks[middle] as PlacedChunk).start <= offset) low = middle
    else high = middle - 1
  }
  return low
}

/** The chunk that holds an offset of the file; the last one for an offset past the end. */
export function chunkAt(file: SourceFile, offset: number): PlacedChunk {
  return file.chunks[chunkIndexAt(file, offset)] as PlacedChunk
}

/** The chunks of a file that touch a stretch of it, in their order. */
export function chunksIn(file: SourceFile, { start, end }: Span): readonly PlacedChunk[] {
  // One that ends where the stretch begins touches it.
  return file.chunks.slice(chunkIndexAt(file, start - 1), chunkIndexAt(file, end) + 1)
}
