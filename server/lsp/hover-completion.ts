/** What a person reads and is offered while typing: hover and completion. */

import {
  type CancellationToken,
  type CompletionItem,
  CompletionItemKind,
  InsertTextFormat,
  type MarkupContent,
  MarkupKind,
  type Position,
  type ResponseError,
} from 'vscode-languageserver'
import type { Completion, CompletionTopic, CompletionTrigger } from '../features/completion/types.ts'
import type { Hover } from '../features/hover/hover.ts'
import { commandLink, hoverPicture, unbroken } from '../service.ts'
import type { Feature } from './feature.ts'
import { failed, NoPaper, orTrouble, type Paper } from './papers.ts'
import {
  answering,
  answeringFor,
  cancelled,
  clientUri,
  type Located,
  loaded,
  located,
  modified,
  type PlacedParams,
  type Session,
} from './session.ts'
import { createSlices } from './turns.ts'

function markup(kind: MarkupKind, text: string): MarkupContent {
  return { kind, value: text }
}

/** Our own client's command, which opens the whole of a hover beside the text. */
const showWorkings = 'detent.showWorkings'
/** The same client's command, which opens the charts of a place beside the text. */
export const showBeside = 'detent.showBeside'
/** Asked with a place, as a hover is. */
const workingsMethod = 'detent/workings'

/** The answer and a way to the rest, where the client opens it; everything for other clients. */
function shownText(session: Session, { file, hover: { text, answer, rest } }: FoundHover, position: Position): string {
  const { showsWorkings, hoverKind } = session.client
  if (!showsWorkings || hoverKind !== MarkupKind.Markdown || rest === '') return text
  return `${answer}\n\n${commandLink('Show workings', showWorkings, [clientUri(session, file.uri), position])}`
}

/** The text with the small picture of the place and a way to the large one, where the client shows them; the link to the workings stays last. */
function withPicture(session: Session, file: Located, position: Position, text: string): string {
  const { client, service } = session
  if (!client.showsPictures || client.hoverKind !== MarkupKind.Markdown) return text
  const small = hoverPicture(service.workspace, file.uri, file.lines.offset(position))
  if (small === undefined) return text
  const large = commandLink('Show charts beside', showBeside, [clientUri(session, file.uri), position])
  const picture = `${small}\n\n${large}`
  const link = text.lastIndexOf('\n\n[Show workings]')
  return link < 0 ? `${text}\n\n${picture}` : `${text.slice(0, link)}\n\n${picture}${text.slice(link)}`
}

interface FoundHover {
  readonly file: Located
  readonly hover: Hover
}

/** What is shown of a place, worked out a few milliseconds at a time; undefined where nothing is. */
async function hoverAt(
  session: Session,
  { textDocument, position }: PlacedParams,
  token: CancellationToken,
): Promise<FoundHover | undefined> {
  const file = await loaded(session, textDocument)
  if (file === undefined) return undefined
  const { features } = session.service
  const offset = file.lines.offset(position)
  // What takes draws waits for nobody who can be answered at once.
  const slices = createSlices('asked')
  for (const _ of features.prepareHover(file.uri, offset)) {
    await slices.rest()
    if (token.isCancellationRequested) throw cancelled
    // The text is another meanwhile: the place is no more what was pointed at.
    if (located(session, file.uri)?.document.source.text !== file.document.source.text) throw modified
  }
  const found = features.hover(file.uri, offset)
  session.background.wake()
  return found && { file, hover: found }
}

export const hover: Feature = {
  advertise: () => ({ hoverProvider: true }),
  register: session => {
    session.connection.onHover(
      answering(
        session,
        'Hover',
        null,
        async (asked, token) => {
          const found = await hoverAt(session, asked, token)
          if (found === undefined) return null
          const text = unbroken(shownText(session, found, asked.position))
          return {
            contents: markup(session.client.hoverKind, withPicture(session, found.file, asked.position, text)),
            range: found.file.lines.range(found.hover),
          }
        },
        'caret',
      ),
    )
  },
}

export function placeOf(asked: unknown): PlacedParams {
  const { textDocument, position } = (asked ?? {}) as {
    readonly textDocument?: { readonly uri?: unknown } | null
    readonly position?: { readonly line?: unknown; readonly character?: unknown } | null
  }
  const [uri, line, character] = [textDocument?.uri, position?.line, position?.character]
  if (typeof uri !== 'string' || typeof line !== 'number' || typeof character !== 'number') {
    throw new NoPaper('No place is named.')
  }
  return { textDocument: { uri }, position: { line, character } }
}

/** The whole of a hover as a page, for a client whose hovers show the answer alone. */
export const workings: Feature = {
  // Nothing of the protocol's own: a client that knows this request asks.
  advertise: () => ({}),
  register: session => {
    session.connection.onRequest<Paper | ResponseError<never>, never>(
      workingsMethod,
      answering(session, 'Showing workings', failed, (asked: unknown, token) =>
        orTrouble(async () => {
          const found = await hoverAt(session, placeOf(asked), token)
          if (found === undefined) throw new NoPaper('There is nothing to show at that place any more.')
          return { markdown: unbroken(found.hover.text) }
        }),
      ),
    )
  },
}

/** Kinds that the first editors already knew. */
const completionKinds: Readonly<Record<Completion['kind'], CompletionItemKind>> = {
  key: CompletionItemKind.Property,
  block: CompletionItemKind.Module,
  word: CompletionItemKind.Keyword,
  unit: CompletionItemKind.Unit,
  name: CompletionItemKind.Reference,
  row: CompletionItemKind.Snippet,
  check: CompletionItemKind.Enum,
  file: CompletionItemKind.File,
}

export function completionItem(
  session: Session,
  lines: Located['lines'],
  one: Completion,
  index: number,
): CompletionItem {
  const { client, service } = session
  const snippet = client.takesSnippets ? one.snippet : undefined
  const documentation =
    client.resolvesCompletion || one.topic === undefined ? undefined : service.features.completionText(one.topic)
  return {
    label: one.label,
    kind: completionKinds[one.kind],
    sortText: `${one.rank}${String(index).padStart(4, '0')}`,
    textEdit: { range: lines.range(one), newText: snippet ?? one.text },
    insertTextFormat: snippet === undefined ? InsertTextFormat.PlainText : InsertTextFormat.Snippet,
    ...(one.filterText === undefined ? {} : { filterText: one.filterText }),
    ...(one.detail === undefined ? {} : { detail: one.detail }),
    ...(one.topic !== undefined && client.resolvesCompletion ? { data: one.topic } : {}),
    ...(documentation === undefined ? {} : { documentation: markup(client.completionKind, documentation) }),
    ...(one.more === undefined
      ? {}
      : { additionalTextEdits: one.more.map(edit => ({ range: lines.range(edit), newText: edit.text })) }),
  }
}

const triggers: Readonly<Record<string, CompletionTrigger>> = { ' ': 'space', '"': 'quote' }

export function completionTrigger(character: unknown): CompletionTrigger {
  return triggers[typeof character === 'string' ? character : ''] ?? 'invoked'
}

export const completion: Feature = {
  advertise: client => ({
    completionProvider: { triggerCharacters: Object.keys(triggers), resolveProvider: client.resolvesCompletion },
  }),
  register: session => {
    session.connection.onCompletion(
      answeringFor(session, 'Completion', null, (file, { position, context }) => {
        const trigger = completionTrigger(context?.triggerCharacter)
        const found = session.service.features.completions(file.uri, file.lines.offset(position), trigger)
        // Asked for again with every letter: what is whole by then must not keep a list open.
        const items = found.map((one, index) => completionItem(session, file.lines, one, index))
        return { isIncomplete: items.length > 0, items }
      }),
    )
    if (!session.client.resolvesCompletion) return
    session.connection.onCompletionResolve((item, token) =>
      answering(session, 'Completion', item, () => {
        const topic = item.data as CompletionTopic | undefined
        const text = topic === undefined ? undefined : session.service.features.completionText(topic)
        return text === undefined ? item : { ...item, documentation: markup(session.client.completionKind, text) }
      })(item, token),
    )
  },
}
