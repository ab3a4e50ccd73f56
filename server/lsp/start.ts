import { existsSync } from 'node:fs'
import { createConnection, ProposedFeatures } from 'vscode-languageserver/node'
import { disk } from './disk.ts'
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
  const connection = createConnection(ProposedFeatures.all, process.stdin, process.stdout)
  console.log = (...parts: unknown[]) => connection.console.log(parts.map(String).join(' '))
  serve(connection, { version, disk, pages: referencePages() })
  connection.listen()
}
