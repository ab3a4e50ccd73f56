/** Colours by meaning. */

import { SemanticTokenModifiers, type SemanticTokens, SemanticTokenTypes } from 'vscode-languageserver'
import type { Span } from '../../grammar/tree.ts'
import type { MeaningToken, TokenMeaning } from '../features/tokens.ts'
import type { Feature } from './feature.ts'
import { throughPieces } from './pieces.ts'
import type { Lines } from './positions.ts'
import { answering, type Located, loaded, type Session } from './session.ts'

const tokenTypes = [
  SemanticTokenTypes.keyword,
  SemanticTokenTypes.enumMember,
  SemanticTokenTypes.class,
  SemanticTokenTypes.type,
]
const typeIndex: Readonly<Record<TokenMeaning, number>> = { key: 0, word: 0, choice: 1, code: 1, name: 2, kind: 3 }

/** Tokens as the protocol packs them, each counted from the one before. */
interface Packed {
  readonly data: number[]
  /** The line of the last one. */
  readonly line: number
}

function packed(tokens: readonly MeaningToken[], lines: Lines): Packed {
  const data: number[] = []
  let line = 0
  let character = 0
  for (const { start, end, meaning, defines } of tokens) {
    const at = lines.position(start)
    const deltaLine = at.line - line
    data.push(deltaLine, deltaLine === 0 ? at.character - character : at.character, end - start)
    data.push(typeIndex[meaning], defines ? 1 : 0)
    line = at.line
    character = at.character
  }
  return { data, line }
}

const throughTokens = throughPieces(packed)

async function tokensOf({ service }: Session, { uri }: Located): Promise<SemanticTokens> {
  const data: number[] = []
  let last = 0
  await throughTokens(service.features.meaningTokens(uri), (made, line) => {
    if (made.data.length === 0) return
    const from = data.length
    for (const number of made.data) data.push(number)
    // The first one of a chunk is on another line than the last one of the chunk before.
    data[from] = line + (made.data[0] ?? 0) - last
    last = line + made.line
  })
  return { data }
}

function tokensWithin({ service }: Session, { uri, lines }: Located, within: Span): SemanticTokens {
  const tokens: MeaningToken[] = []
  for (const { chunk, start, find } of service.features.meaningTokens(uri)) {
    if (start > within.end || start + chunk.text.length < within.start) continue
    for (const token of find()) {
      const placed = { ...token, start: token.start + start, end: token.end + start }
      if (placed.start < within.end && placed.end > within.start) tokens.push(placed)
    }
  }
  return { data: packed(tokens, lines).data }
}

export const semanticTokens: Feature = {
  advertise: client =>
    client.takesSemanticTokens
      ? {
          semanticTokensProvider: {
            legend: { tokenTypes, tokenModifiers: [SemanticTokenModifiers.declaration] },
            full: true,
            range: true,
          },
        }
      : undefined,
  register: session => {
    const { semanticTokens: tokens } = session.connection.languages
    const none: SemanticTokens = { data: [] }
    tokens.on(
      answering(session, 'Colouring', none, async ({ textDocument }) => {
        const file = await loaded(session, textDocument)
        return file === undefined ? none : tokensOf(session, file)
      }),
    )
    tokens.onRange(
      answering(session, 'Colouring', none, async ({ textDocument, range }) => {
        const file = await loaded(session, textDocument)
        return file === undefined ? none : tokensWithin(session, file, file.lines.span(range))
      }),
    )
  },
}
