/** Open documents: their changes are applied in the order in which they come. */

import { TextDocumentSyncKind } from 'vscode-languageserver'
import { TextDocument } from 'vscode-languageserver-textdocument'
import { normalizeUri } from '../workspace/files.ts'
import type { Publisher } from './diagnostics.ts'
import type { Feature } from './feature.ts'
import { hasUnreadLogs, readLogs } from './log-reading.ts'
import { guarded, reportTrouble, type Session } from './session.ts'
import { cursorAfter, settledFindings } from './typing.ts'

/**
 * The files whose findings may be others once this one changed: those that use it and those that it uses. Where it has
 * runs, also all that use one of these: what a run shows of a part counts for every profile with it.
 */
export function affectedBy(session: Session, uri: string): Set<string> {
  const { workspace } = session.service
  const view = workspace.view(uri)
  const used = view?.documents.map(document => document.uri) ?? []
  const hasRuns = view?.document.definitions.some(({ kind }) => kind === 'run') === true
  const beside = hasRuns ? used.flatMap(one => workspace.usersOf(one)) : []
  return new Set([uri, ...used, ...workspace.usersOf(uri), ...beside])
}

/** Logs that the runs of a file name are read while nobody waits; findings that rest on them follow. */
function followLogs(session: Session, publisher: Publisher, key: string): void {
  if (!session.readsLogs() || !hasUnreadLogs(session, key)) return
  const read = async (): Promise<void> => {
    await session.followLogs()
    await readLogs(session, [key])
  }
  read().then(
    () => publisher.changed(affectedBy(session, key), undefined),
    (error: unknown) => reportTrouble(session, 'Reading logs', error),
  )
}

/** Takes a document's text over, reads what it uses, and tells of what may have changed. */
function take(session: Session, publisher: Publisher, document: TextDocument): void {
  const key = normalizeUri(document.uri)
  const { workspace } = session.service
  const before = affectedBy(session, key)
  session.background.typed()
  const old = workspace.document(key)
  workspace.set(key, document.getText(), document.version)
  settledFindings.handOn(old, workspace.document(key))
  publisher.changed(new Set([...before, ...affectedBy(session, key)]), key)
  followLogs(session, publisher, key)
  const reached = workspace.view(key)?.uses.some(use => use.state === 'loading') === true
  if (!reached) return
  workspace.load([key]).then(
    () => publisher.changed(affectedBy(session, key), undefined),
    (error: unknown) => reportTrouble(session, 'Reading used files', error),
  )
}

/** So many characters before and behind the cursor are seen beside what is typed: a screen, roughly. */
const ABOUT = 2000

export function documentSync(publisher: (session: Session) => Publisher): Feature {
  return {
    advertise: () => ({
      textDocumentSync: { openClose: true, change: TextDocumentSyncKind.Incremental, save: { includeText: false } },
    }),
    register: session => {
      const { connection, open, spellings } = session
      connection.onDidOpenTextDocument(
        guarded(session, 'Opening a document', ({ textDocument: { uri, languageId, version, text } }) => {
          const key = normalizeUri(uri)
          const document = TextDocument.create(uri, languageId, version, text)
          open.set(key, document)
          spellings.set(key, uri)
          take(session, publisher(session), document)
        }),
      )
      connection.onDidChangeTextDocument(
        guarded(session, 'Changing a document', ({ textDocument, contentChanges }) => {
          const key = normalizeUri(textDocument.uri)
          const document = open.get(key)
          if (document === undefined) return
          const before = document.getText()
          TextDocument.update(document, contentChanges, textDocument.version)
          const cursor = cursorAfter(document, before, contentChanges)
          session.typing.edited(key, cursor)
          if (cursor !== undefined) session.seen.set(key, { start: cursor - ABOUT, end: cursor + ABOUT })
          take(session, publisher(session), document)
        }),
      )
      connection.onDidSaveTextDocument(
        guarded(session, 'Saving a document', ({ textDocument }) =>
          session.typing.rested(normalizeUri(textDocument.uri)),
        ),
      )
      connection.onDidCloseTextDocument(
        guarded(session, 'Closing a document', ({ textDocument }) => {
          const key = normalizeUri(textDocument.uri)
          if (!open.delete(key)) return
          session.typing.rested(key)
          session.seen.delete(key)
          const { workspace } = session.service
          const affected = affectedBy(session, key)
          publisher(session).closed(key)
          session.forgetSettings(textDocument.uri)
          workspace.close(key)
          // The disk's text counts again; it may be another.
          const wanted = [...affected].filter(uri => uri !== key || session.found.has(key))
          if (!session.found.has(key)) spellings.delete(key)
          workspace.load(wanted).then(
            () => publisher(session).changed(affected, undefined),
            (error: unknown) => reportTrouble(session, 'Reading used files', error),
          )
        }),
      )
    },
  }
}
