/** A text that is made of others, and where each stretch of it comes from. */

/** Where a stretch comes from: an offset of a file, or of the overlay of this number, from 1. */
export type Origin =
  | { readonly uri: string; readonly offset: number }
  | { readonly overlay: number; readonly offset: number }

/** A stretch; without an origin it is white space or a brace that was put in. */
export interface Piece {
  readonly text: string
  readonly origin: Origin | undefined
}

/** In place of a stretch of a text, others. */
export interface PieceEdit {
  readonly start: number
  readonly end: number
  readonly pieces: readonly Piece[]
}

function moved(origin: Origin | undefined, by: number): Origin | undefined {
  return origin === undefined ? undefined : { ...origin, offset: origin.offset + by }
}

/** The pieces of a stretch. */
function cut(pieces: readonly Piece[], start: number, end: number): readonly Piece[] {
  const found: Piece[] = []
  let at = 0
  for (const { text, origin } of pieces) {
    const [from, to] = [Math.max(start, at), Math.min(end, at + text.length)]
    if (from < to) found.push({ text: text.slice(from - at, to - at), origin: moved(origin, from - at) })
    at += text.length
  }
  return found
}

export const textOfPieces = (pieces: readonly Piece[]): string => pieces.map(({ text }) => text).join('')

/** Applies edits that do not touch each other, in any order. */
export function edited(pieces: readonly Piece[], edits: readonly PieceEdit[]): readonly Piece[] {
  const length = pieces.reduce((sum, { text }) => sum + text.length, 0)
  const found: Piece[] = []
  let at = 0
  for (const edit of [...edits].sort((a, b) => a.start - b.start || a.end - b.end)) {
    found.push(...cut(pieces, at, edit.start), ...edit.pieces)
    at = edit.end
  }
  return [...found, ...cut(pieces, at, length)]
}

/** Where an offset comes from; what was put in counts as what stands before it. */
export function originAt(pieces: readonly Piece[], offset: number): Origin | undefined {
  let at = 0
  let before: Origin | undefined
  for (const { text, origin } of pieces) {
    if (offset < at + text.length && origin !== undefined) return moved(origin, Math.max(0, offset - at))
    if (offset < at + text.length) return before
    before = moved(origin, text.length) ?? before
    at += text.length
  }
  return before
}
