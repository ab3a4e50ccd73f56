/** Logs of runs that change on disk: they are read again, and what rests on them follows. */

import { DidChangeWatchedFilesNotification, type Disposable, type FileSystemWatcher } from 'vscode-languageserver'
import { normalizeUri } from '../workspace/files.ts'
import type { Publisher } from './diagnostics.ts'
import { affectedBy } from './documents.ts'
import { placeIn } from './folders.ts'
import { readLogs } from './log-reading.ts'
import { reportTrouble, type Session } from './session.ts'

export interface LogWatch {
  /** The addresses of the logs that open files see. */
  inView(): Iterable<string>
  /** Takes the changes that are those of logs, and gives the addresses of the others back. */
  take<T extends { readonly uri: string }>(changes: readonly T[]): readonly T[]
  /**
   * Asks the client to tell of the logs that are named now, where it can be asked. Resolves when it does, or has been
   * waited for long enough: a log that is read before could change unseen.
   */
  follow(): Promise<void>
}

/** Tells our own client which files see logs that were read again. */
const logsMethod = 'detent/logsRead'

/** How long the client is waited for. */
const answerMs = 1000

/** A log that is being written changes every second; it is read when it has had some rest. */
const restMs = 300
/** Reading a large log again and again must not be all that the server does. */
const restShare = 4

/** The logs that runs seen by open files name, each with the open files that see it. */
function logsInView({ open, service }: Session): ReadonlyMap<string, readonly string[]> {
  const found = new Map<string, string[]>()
  for (const file of open.keys()) {
    for (const { uri } of service.bench.logs(file, 'seen')) {
      const files = found.get(uri) ?? []
      if (!files.includes(file)) files.push(file)
      found.set(uri, files)
    }
  }
  return found
}

function decoded(path: string): string {
  try {
    return decodeURIComponent(path)
  } catch {
    return path
  }
}

/** Signs of a path that mean something in a pattern; whatever stands in their place fits as well. */
function literal(path: string): string {
  return decoded(path).replace(/[*?{}[\],!]/g, '?')
}

/** The pattern for one log: within the client's folder that it is in, else within its own. */
function watcherOf({ client, folders }: Session, uri: string): FileSystemWatcher {
  const baseUri = placeIn(folders, uri)?.folder ?? uri.slice(0, uri.lastIndexOf('/'))
  const pattern = literal(uri.slice(normalizeUri(baseUri).length + 1))
  return { globPattern: client.takesRelativePatterns ? { baseUri, pattern } : `**/${pattern}` }
}

export function createLogWatch(session: Session, publisher: () => Publisher): LogWatch {
  const waiting = new Set<string>()
  let timer: NodeJS.Timeout | undefined
  let lastMs = 0
  let watched = ''
  let registration: Promise<Disposable> | undefined
  const { connection, service } = session

  const readAgain = async (): Promise<void> => {
    const began = Date.now()
    const changed = [...waiting]
    waiting.clear()
    service.bench.forgetLogs(changed)
    const logs = logsInView(session)
    const files = new Set(changed.flatMap(uri => logs.get(uri) ?? []))
    await readLogs(session, [...files])
    lastMs = Date.now() - began
    // Our own client's charts follow a log that grows.
    if (session.client.showsPictures) await connection.sendNotification(logsMethod, { uris: [...files] })
    publisher().changed(new Set([...files].flatMap(uri => [...affectedBy(session, uri)])), undefined)
  }

  const wake = (): void => {
    if (timer !== undefined || waiting.size === 0 || !session.readsLogs()) return
    timer = setTimeout(
      () => {
        readAgain()
          .catch((error: unknown) => reportTrouble(session, 'Reading logs again', error))
          .finally(() => {
            timer = undefined
            wake()
          })
      },
      Math.max(restMs, restShare * lastMs),
    )
  }

  return {
    inView: () => logsInView(session).keys(),
    take: changes => {
      const logs = logsInView(session)
      const others = changes.filter(({ uri }) => {
        const key = normalizeUri(uri)
        if (logs.has(key)) waiting.add(key)
        return !logs.has(key)
      })
      wake()
      return others
    },
    follow: async () => {
      if (!session.client.registersWatchers || !session.readsLogs()) return
      const uris = [...logsInView(session).keys()].sort()
      const now = uris.join('\n')
      if (now !== watched) {
        watched = now
        const before = registration
        // The new ones first, so that nothing is missed in between.
        registration =
          uris.length === 0
            ? undefined
            : connection.client.register(DidChangeWatchedFilesNotification.type, {
                watchers: uris.map(uri => watcherOf(session, uri)),
              })
        registration?.catch((error: unknown) => reportTrouble(session, 'Watching logs', error))
        before?.then(one => one.dispose()).catch(() => undefined)
      }
      const late = new Promise(resolve => setTimeout(resolve, answerMs))
      await Promise.race([registration, late]).catch(() => undefined)
    },
  }
}
