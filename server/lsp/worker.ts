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

/** Takes the lock that is free again only when this worker has ended: by that its client notices. */
function holdWhileAlive(life: string): void {
  const { locks } = (globalThis as { readonly navigator?: { readonly locks?: Locks } }).navigator ?? {}
  // Refused where the page may keep nothing, as in a private frame: its end is then not noticed.
  locks?.request(life, () => new Promise<never>(() => undefined)).catch(() => undefined)
}

/**
 * Serves one editor from within a worker. All files come through the client.
 * @param scope the worker's own global object, by which it and the editor send each other messages
 * @param life the name of the lock that says that it lives
 */
export function startWorker(scope: unknown, version: string, life: string): void {
  holdWhileAlive(life)
  const port = scope as ConstructorParameters<typeof BrowserMessageReader>[0]
  const writer = new BrowserMessageWriter(port)
  const connection = createConnection(ProposedFeatures.all, inOrder(new BrowserMessageReader(port), writer), writer)
  serve(connection, { version, disk: undefined, pages: undefined })
  connection.listen()
}
