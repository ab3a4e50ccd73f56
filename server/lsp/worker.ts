/** The server's entry in a worker without Node. */

import {
  BrowserMessageReader,
  BrowserMessageWriter,
  createConnection,
  ProposedFeatures,
} from 'vscode-languageserver/browser'
import { inOrder } from './order.ts'
import { serve } from './server.ts'

interface Locks {
  request(name: string, held: () => Promise<never>): Promise<unknown>
}

/**
 * Takes the lock that is free again only when this worker has ended: by that its client notices.
 * @returns whether it is held; not where there are none, or the page may keep nothing, as in a private frame
 */
function holdWhileAlive(life: string): Promise<boolean> {
  const { locks } = (globalThis as { readonly navigator?: { readonly locks?: Locks } }).navigator ?? {}
  if (locks === undefined) return Promise.resolve(false)
  return new Promise(resolve => {
    const held = (): Promise<never> => {
      resolve(true)
      return new Promise(() => undefined)
    }
    locks.request(life, held).catch(() => resolve(false))
  })
}

/**
 * Serves one editor from within a worker. All files come through the client.
 * @param scope the worker's own global object, by which it and the editor send each other messages
 * @param life the name of the lock that says that it lives
 */
export function startWorker(scope: unknown, version: string, life: string): void {
  const holdsLock = holdWhileAlive(life)
  const port = scope as ConstructorParameters<typeof BrowserMessageReader>[0]
  const writer = new BrowserMessageWriter(port)
  const connection = createConnection(ProposedFeatures.all, inOrder(new BrowserMessageReader(port), writer), writer)
  serve(connection, { version, disk: undefined, pages: undefined, holdsLock })
  connection.listen()
}
