import {
  BrowserMessageReader,
  BrowserMessageWriter,
  createConnection,
  ProposedFeatures,
} from 'vscode-languageserver/browser'
import { inOrder } from './order.ts'
import { serve } from './server.ts'

/**
 * Serves one editor from within a worker. All files come through the client.
 * @param scope the worker's own global object, by which it and the editor send each other messages
 */
export function startWorker(scope: unknown, version: string): void {
  const port = scope as ConstructorParameters<typeof BrowserMessageReader>[0]
  const writer = new BrowserMessageWriter(port)
  const connection = createConnection(ProposedFeatures.all, inOrder(new BrowserMessageReader(port), writer), writer)
  serve(connection, { version, disk: undefined, pages: undefined })
  connection.listen()
}
