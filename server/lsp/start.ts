/** Starts the server in a process with Node. */

import { existsSync } from 'node:fs'
import {
  createConnection,
  ProposedFeatures,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver/node'
import { createDisk } from './disk.ts'
import { inOrder } from './order.ts'
import { serve } from './server.ts'

/** Beside the bundle in the package, and beside the sources where those run. */
const pageCandidates = ['../grammar/reference/checks.md', '../../grammar/reference/checks.md']

function referencePages(): string | undefined {
  const found = pageCandidates.map(path => new URL(path, import.meta.url)).find(url => existsSync(url))
  return found?.href
}

/** Serves one editor over standard input and output. Resolves when the connection is open; it ends with the process. */
export async function startServer(version = '0'): Promise<void> {
  // Standard output belongs to the protocol: whatever else is printed goes to the editor's log.
  const writer = new StreamMessageWriter(process.stdout)
  const reader = inOrder(new StreamMessageReader(process.stdin), writer)
  const end = (): void => process.exit(reader.isEnded ? 0 : 1)
  process.stdin.on('end', end).on('close', end)
  reader.onError(error => {
    // A body that is not JSON costs that message alone; behind a header without a length nothing can be read any more.
    if (error instanceof SyntaxError) return
    process.stderr.write(`detent: the input is not the language server protocol: ${error.message.split('\n')[0]}\n`)
    process.exit(1)
  })
  const connection = createConnection(ProposedFeatures.all, reader, writer)
  console.log = (...parts: unknown[]) => connection.console.log(parts.map(String).join(' '))
  serve(connection, { version, disk: createDisk, pages: referencePages() })
  connection.listen()
}
