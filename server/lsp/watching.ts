/** Folders, watched files and settings: what changes outside the open documents. */

import {
  DidChangeConfigurationNotification,
  DidChangeWatchedFilesNotification,
  FileChangeType,
  WatchKind,
} from 'vscode-languageserver'
import { isIn } from '../workspace/bounds.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { Publisher } from './diagnostics.ts'
import { affectedBy } from './documents.ts'
import type { Feature } from './feature.ts'
import { hasUnreadLogs, readLogs } from './log-reading.ts'
import { createLogWatch } from './log-watching.ts'
import { type Count, telling } from './progress.ts'
import { guarded, reportTrouble, type Session } from './session.ts'

interface Change {
  readonly uri: string
  readonly type: FileChangeType
}

/** Finds the profiles of all folders and reads them. */
async function scan(session: Session, folders: readonly string[]): Promise<void> {
  const { files, found, service } = session
  let uris: readonly string[] = []
  const count = (): Count | undefined => {
    const done = uris.filter(uri => service.workspace.document(uri) !== undefined).length
    return uris.length === 0 ? undefined : { done, of: uris.length, what: 'file' }
  }
  await telling(session, { title: 'Reading the folders', count }, async () => {
    const lists = await Promise.all(folders.map(folder => files.find(folder)))
    uris = lists.flat().map(normalizeUri)
    for (const uri of uris) found.add(uri)
    await service.workspace.load([...uris, ...found, ...session.open.keys()])
  })
  for (const uri of uris) {
    const why = service.workspace.unread(uri)
    if (why !== undefined) session.connection.console.warn(`${uri}: ${why}; left out`)
  }
}

/**
 * Reads the logs that files of the folders name, for clients that ask for what is found in files that are not open: what
 * a run says counts whether its file is looked at or not.
 */
async function readFoundLogs(session: Session, publisher: Publisher): Promise<void> {
  if (!session.client.pullsDiagnostics || !session.readsLogs()) return
  const unread = [...session.found].filter(uri => !session.open.has(uri) && hasUnreadLogs(session, uri))
  if (unread.length === 0) return
  await session.followLogs()
  await readLogs(session, unread)
  publisher.changed(new Set(unread.flatMap(uri => [...affectedBy(session, uri)])), undefined)
}

/** Begins to look through folders; requests that need all files wait for it. */
function startScan(session: Session, publisher: Publisher, folders: readonly string[]): void {
  const before = session.scanned
  session.scanned = before
    .then(() => scan(session, folders))
    .catch((error: unknown) => reportTrouble(session, 'Looking through the folders', error))
  void session.scanned.then(() => {
    publisher.changed(session.open.keys(), undefined)
    readFoundLogs(session, publisher).catch((error: unknown) => reportTrouble(session, 'Reading logs', error))
  })
}

async function filesChanged(session: Session, publisher: Publisher, changes: readonly Change[]): Promise<void> {
  const { workspace } = session.service
  const affected = new Set<string>()
  const note = (uri: string): void => {
    for (const other of affectedBy(session, uri)) affected.add(other)
  }
  for (const { uri, type } of changes) {
    const key = normalizeUri(uri)
    note(key)
    if (type === FileChangeType.Deleted) session.found.delete(key)
    else {
      session.found.add(key)
      session.spellings.set(key, uri)
    }
  }
  const keys = changes.map(({ uri }) => normalizeUri(uri))
  workspace.forget(keys)
  // Users look for what they use again, so that a deleted file is missing and a new one is found.
  await workspace.load([...affected, ...session.open.keys(), ...session.found])
  for (const key of keys) note(key)
  for (const { uri, type } of changes) {
    const key = normalizeUri(uri)
    const isGone = type === FileChangeType.Deleted && !session.found.has(key)
    if (isGone && !session.open.has(key)) session.spellings.delete(key)
  }
  publisher.changed(affected, undefined)
  await readFoundLogs(session, publisher)
}

/** Forgets what was read of folders that are open no more; what open documents still use of it is read again. */
function leaveFolders(session: Session, gone: readonly string[]): void {
  const { found, folders, open, spellings, service } = session
  const isGone = (uri: string): boolean =>
    gone.some(folder => isIn(uri, folder)) && !folders.some(folder => isIn(uri, folder))
  const left = [...service.workspace.documents()].map(({ uri }) => uri).filter(isGone)
  service.workspace.forget(left)
  for (const uri of [...found].filter(isGone)) {
    found.delete(uri)
    if (!open.has(uri)) spellings.delete(uri)
  }
}

/** The files of the language that were found or read. */
function knownFiles({ found, service }: Session): readonly string[] {
  return [...found, ...[...service.workspace.documents()].map(({ uri }) => uri)]
}

/**
 * The changes, with those of the files that go with a deleted folder behind its own: one that comes again has a later change.
 * @param known the files that may go with one
 */
function withBelow(changes: readonly Change[], known: () => readonly string[]): readonly Change[] {
  const deleted = changes.filter(({ type }) => type === FileChangeType.Deleted)
  if (deleted.length === 0) return changes
  const below = new Map(deleted.map(({ uri }) => [normalizeUri(uri), [] as Change[]]))
  for (const uri of new Set(known()))
    for (let end = uri.lastIndexOf('/'); end > 0; end = uri.lastIndexOf('/', end - 1))
      below.get(uri.slice(0, end))?.push({ uri, type: FileChangeType.Deleted })
  return changes.flatMap(change =>
    change.type === FileChangeType.Deleted ? [change, ...(below.get(normalizeUri(change.uri)) ?? [])] : [change],
  )
}

/** Whether an address is one of the language's files, or of one that these use. */
function isProfileFile({ service: { workspace } }: Session, uri: string): boolean {
  return uri.endsWith('.detent') || workspace.document(uri) !== undefined || workspace.usersOf(uri).length > 0
}

export function watching(
  publisher: (session: Session) => Publisher,
  resetSettings: (section: unknown) => void,
): Feature {
  return {
    advertise: client =>
      client.tellsFolders ? { workspace: { workspaceFolders: { supported: true, changeNotifications: true } } } : {},
    register: session => {
      const { connection } = session
      const logs = createLogWatch(session, () => publisher(session))
      session.followLogs = () => logs.follow()
      session.changed.add(() => void logs.follow())
      connection.onDidChangeWatchedFiles(
        guarded(session, 'Following changed files', ({ changes }) => {
          const all = withBelow(changes, () => [...knownFiles(session), ...logs.inView()])
          // A client may tell of whatever it watches for others.
          const files = logs.take(all).filter(({ uri }) => isProfileFile(session, uri))
          if (files.length === 0) return
          filesChanged(session, publisher(session), files).catch((error: unknown) =>
            reportTrouble(session, 'Following changed files', error),
          )
        }),
      )
      connection.onDidChangeConfiguration(
        guarded(session, 'Following the settings', ({ settings }) => {
          resetSettings((settings as { detent?: unknown } | null | undefined)?.detent)
          publisher(session).changed(session.open.keys(), undefined)
        }),
      )
      connection.onInitialized(() => {
        const { client } = session
        if (client.registersWatchers) {
          // Of a folder that is deleted or moved with what is in it a client tells as one.
          const watchers = [{ globPattern: '**/*.detent' }, { globPattern: '**', kind: WatchKind.Delete }]
          connection.client
            .register(DidChangeWatchedFilesNotification.type, { watchers })
            .catch((error: unknown) => reportTrouble(session, 'Watching files', error))
        }
        if (client.registersConfiguration) {
          connection.client
            .register(DidChangeConfigurationNotification.type, { section: 'detent' })
            .catch((error: unknown) => reportTrouble(session, 'Following the settings', error))
        }
        if (client.tellsFolders) {
          connection.workspace.onDidChangeWorkspaceFolders(
            guarded(session, 'Following the folders', ({ added, removed }) => {
              const gone = removed.map(({ uri }) => uri)
              const come = added.map(({ uri }) => uri)
              session.folders = [...session.folders.filter(uri => !gone.includes(uri)), ...come]
              leaveFolders(session, gone)
              resetSettings(undefined)
              // What led outside may lead into a folder now, and the other way round.
              session.service.workspace.boundsChanged()
              startScan(session, publisher(session), come)
            }),
          )
        }
        startScan(session, publisher(session), session.folders)
      })
    },
  }
}
