import {
  type CompletionItem,
  CompletionItemKind,
  InsertTextFormat,
  type MarkupContent,
  type MarkupKind,
} from 'vscode-languageserver'
import type { Completion, CompletionTopic, CompletionTrigger } from '../features/completion/types.ts'
import { createSlices } from './extent.ts'
import type { Feature } from './feature.ts'
import { afterBreath, answering, cancelled, type Located, loaded, located, type Session } from './session.ts'

/** What a person reads and is offered while typing: hover and completion. */

function markup(kind: MarkupKind, text: string): MarkupContent {
  return { kind, value: text }
}

export const hover: Feature = {
  advertise: () => ({ hoverProvider: true }),
  register: session => {
    session.connection.onHover(
      answering(
        session,
        'Hover',
        null,
        afterBreath(async ({ textDocument, position }, token) => {
          const file = await loaded(session, textDocument)
          if (file === undefined) return null
          const { features } = session.service
          const offset = file.lines.offset(position)
          const slices = createSlices()
          for (const _ of features.prepareHover(file.uri, offset)) {
            await slices.rest()
            if (token.isCancellationRequested) throw cancelled
            // The text is another meanwhile: the place is no more what was pointed at.
            if (located(session, file.uri)?.document !== file.document) return null
          }
          const found = features.hover(file.uri, offset)
          session.background.wake()
          if (found === undefined) return null
          return { contents: markup(session.client.hoverKind, found.text), range: file.lines.range(found) }
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

function completionItem(session: Session, { lines }: Located, one: Completion, index: number): CompletionItem {
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

export const completion: Feature = {
  advertise: client => ({
    completionProvider: { triggerCharacters: Object.keys(triggers), resolveProvider: client.resolvesCompletion },
  }),
  register: session => {
    session.connection.onCompletion(
      answering(session, 'Completion', null, async ({ textDocument, position, context }) => {
        const file = await loaded(session, textDocument)
        if (file === undefined) return null
        const trigger = triggers[context?.triggerCharacter ?? ''] ?? 'invoked'
        const found = session.service.features.completions(file.uri, file.lines.offset(position), trigger)
        // Asked for again with every letter: what is whole by then must not keep a list open.
        const items = found.map((one, index) => completionItem(session, file, one, index))
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
