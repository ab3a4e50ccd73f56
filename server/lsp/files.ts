import type { Connection } from 'vscode-languageserver'
import type { LogSource } from '../service.ts'
import type { FileSystem } from '../workspace/files.ts'
import type { Revision } from '../workspace/git.ts'

/** Files as the server sees them: those of its own machine by itself, where it has one; all others through the client. */

/** Our own client answers it with the text of a file, or null where there is none. */
export const readFileMethod = 'detent/readFile'
/** Our own client answers it with the addresses of the folder's profiles. */
export const findFilesMethod = 'detent/findFiles'

export interface ClientFiles extends FileSystem {
  /** Addresses of the `.detent` files in a folder. Never throws. */
  find(folder: string): Promise<readonly string[]>
}

/** The files beside the server. A server in a worker has none. */
export interface Disk extends ClientFiles {
  /** Whether an address names a place on this disk. */
  has(uri: string): boolean
  /** The files of the git repository that a file belongs to, at a revision. Rejects with one line for a person. */
  revisionOf(uri: string, revision: string): Promise<Revision>
  /** The logs of runs. */
  readonly logs: LogSource
}

function bytesOf(base64: string): Uint8Array | undefined {
  try {
    return Uint8Array.from(atob(base64), unit => unit.charCodeAt(0))
  } catch {
    return undefined
  }
}

/** @param throughClient whether the client reads for the server */
export function createFiles(connection: Connection, disk: Disk | undefined, throughClient: () => boolean): ClientFiles {
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
      if (disk?.has(uri) === true) return disk.read(uri)
      const answer = await ask(readFileMethod, uri)
      return typeof answer === 'string' ? bytesOf(answer) : undefined
    },
    find: async folder => {
      if (disk?.has(folder) === true) return disk.find(folder)
      const answer = await ask(findFilesMethod, folder)
      return Array.isArray(answer) ? answer.filter(uri => typeof uri === 'string') : []
    },
  }
}
