/** Colours by meaning. */

import {
  SemanticTokenModifiers,
  type SemanticTokens,
  type SemanticTokensDelta,
  type SemanticTokensDeltaParams,
  SemanticTokenTypes,
} from 'vscode-languageserver'
import type { TextDocument } from 'vscode-languageserver-textdocument'
import type { Span } from '../../grammar/tree.ts'
import type { MeaningToken, TokenMeaning } from '../features/tokens.ts'
import type { Feature } from './feature.ts'
import { throughPieces } from './pieces.ts'
import type { Lines } from './positions.ts'
import { answeringFor, type Located, newest, type Session } from './session.ts'

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

async function tokensOf(session: Session, file: Located): Promise<SemanticTokens> {
  const data: number[] = []
  let last = 0
  const take = (made: ReturnType<typeof packed>, line: number): void => {
    if (made.data.length === 0) return
    const from = data.length
    for (const number of made.data) data.push(number)
    // The first one of a chunk is on another line than the last one of the chunk before.
    data[from] = line + (made.data[0] ?? 0) - last
    last = line + made.line
  }
  await throughTokens(session.service.features.meaningTokens(file.uri), take, newest(session, file))
  return remembered(session, file.uri, data)
}

/** What a client was sent last of an open document; evicted when that is closed. */
const sent = new WeakMap<TextDocument, Required<SemanticTokens>>()
let results = 0

function remembered({ open, client }: Session, uri: string, data: number[]): SemanticTokens {
  const document = open.get(uri)
  if (document === undefined || !client.takesTokenDeltas) return { data }
  const made = { resultId: `${++results}`, data }
  sent.set(document, made)
  return made
}

/** What changed of the tokens since the client was sent some: the stretch between what both begin and end with. */
async function changedTokens(
  session: Session,
  file: Located,
  previousResultId: string,
): Promise<SemanticTokens | SemanticTokensDelta> {
  const document = session.open.get(file.uri)
  const before = document && sent.get(document)
  const now = await tokensOf(session, file)
  if (before?.resultId !== previousResultId || now.resultId === undefined) return now
  const { data } = now
  const most = Math.min(data.length, before.data.length)
  let start = 0
  while (start < most && data[start] === before.data[start]) start++
  let same = 0
  while (same < most - start && data[data.length - 1 - same] === before.data[before.data.length - 1 - same]) same++
  const deleteCount = before.data.length - start - same
  const put = data.slice(start, data.length - same)
  const edits = deleteCount === 0 && put.length === 0 ? [] : [{ start, deleteCount, data: put }]
  return { resultId: now.resultId, edits }
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
            full: client.takesTokenDeltas ? { delta: true } : true,
            range: true,
          },
        }
      : undefined,
  register: session => {
    const { semanticTokens: tokens } = session.connection.languages
    const none: SemanticTokens = { data: [] }
    tokens.on(answeringFor(session, 'Colouring', none, file => tokensOf(session, file), 'shown'))
    tokens.onRange(
      answeringFor(
        session,
        'Colouring',
        none,
        (file, { range }) => tokensWithin(session, file, file.lines.span(range)),
        'shown',
      ),
    )
    if (!session.client.takesTokenDeltas) return
    tokens.onDelta(
      answeringFor<SemanticTokensDeltaParams, SemanticTokens | SemanticTokensDelta>(
        session,
        'Colouring',
        none,
        (file, { previousResultId }) => changedTokens(session, file, previousResultId),
        'shown',
      ),
    )
  },
}
