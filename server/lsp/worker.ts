import {
  BrowserMessageReader,
  BrowserMessageWriter,
  createConnection,
  ProposedFeatures,
} from 'vscode-languageserver/browser'
import { serve } from './server.ts'

/**
 * Serves one editor from within a worker. All files come through the client.
 * @param scope the worker's own global object, by which it and the editor send each other messages
 */
export function startWorker(scope: unknown, version: string): void {
  const port = scope as ConstructorParameters<typeof BrowserMessageReader>[0]
  const connection = createConnection(
    ProposedFeatures.all,
    new BrowserMessageReader(port),
    new BrowserMessageWriter(port),
  )
  serve(connection, { version, disk: undefined, pages: undefined })
  connection.listen()
}
