import { readdir } from 'node:fs/promises'
import { join } from 'node:path'
import type { Connection } from 'vscode-languageserver/node'
import type { FileSystem } from '../workspace/files.ts'
import { nodeFiles, pathOfUri, uriOfPath } from '../workspace/node-files.ts'

/** Files as the server sees them: those of this machine by itself, those of other schemes through the client. */

/** Our own client answers it with the text of a file, or null where there is none. */
export const readFileMethod = 'detent/readFile'
/** Our own client answers it with the addresses of the folder's profiles. */
export const findFilesMethod = 'detent/findFiles'

export interface ClientFiles extends FileSystem {
  /** Addresses of the `.detent` files in a folder. Never throws. */
  find(folder: string): Promise<readonly string[]>
}

const passedOver: ReadonlySet<string> = new Set(['node_modules'])
/** A folder nested deeper is taken for a circle of links. */
const deepest = 24

async function findIn(folder: string, depth: number, into: string[]): Promise<void> {
  if (depth > deepest) return
  const entries = await readdir(folder, { withFileTypes: true }).catch(() => [])
  await Promise.all(
    entries.map(async entry => {
      const path = join(folder, entry.name)
      if (entry.isDirectory()) {
        if (!entry.name.startsWith('.') && !passedOver.has(entry.name)) await findIn(path, depth + 1, into)
      } else if (entry.name.endsWith('.detent')) into.push(path)
    }),
  )
}

/** @param throughClient whether the client reads for the server */
export function createFiles(connection: Connection, throughClient: () => boolean): ClientFiles {
  const ask = async (method: string, uri: string): Promise<unknown> => {
    if (!throughClient()) return undefined
    try {
      return await connection.sendRequest(method, { uri })
    } catch {
      return undefined
    }
  }
  return {
    read: async uri => {
      if (pathOfUri(uri) !== undefined) return nodeFiles.read(uri)
      const answer = await ask(readFileMethod, uri)
      return typeof answer === 'string' ? Buffer.from(answer, 'base64') : undefined
    },
    find: async folder => {
      const path = pathOfUri(folder)
      if (path === undefined) {
        const answer = await ask(findFilesMethod, folder)
        return Array.isArray(answer) ? answer.filter(uri => typeof uri === 'string') : []
      }
      const found: string[] = []
      await findIn(path, 0, found)
      return found.sort().map(uriOfPath)
    },
  }
}
