/** Files as the server sees them: those of its own machine by itself, where it has one; all others through the client. */

import type { Connection } from 'vscode-languageserver'
import type { LogFile, LogSource } from '../service.ts'
import { type FileSystem, mostSourceBytes, tooLarge } from '../workspace/files.ts'
import type { Revision } from '../workspace/git.ts'

/**
 * Our own client answers it with the bytes of a file in base 64, or null where there is none; where the file has more bytes
 * than the `most` that is asked for, with its `size` alone.
 */
const readFileMethod = 'detent/readFile'
/** Our own client answers it with the addresses of the folder's profiles. */
const findFilesMethod = 'detent/findFiles'

export interface ClientFiles extends FileSystem {
  /** The logs of runs. Those that the client reads come whole, so one that is too large cannot be read. */
  readonly logs: LogSource
  /** Addresses of the `.detent` files in a folder. Never throws. */
  find(folder: string): Promise<readonly string[]>
}

/** What is open, by addresses: folders, and files that are opened wherever they are. */
export interface OpenPlaces {
  readonly folders: readonly string[]
  readonly files: readonly string[]
}

/** The files beside the server. A server in a worker has none. */
export interface Disk extends ClientFiles {
  /** Whether an address names a place on this disk. */
  has(uri: string): boolean
  /** Whether a file lies in a git repository: looked at alone, git is not started. */
  isInRepository(uri: string): boolean
  /** The files of the git repository that a file belongs to, at a revision. Rejects with one line for a person. */
  revisionOf(uri: string, revision: string): Promise<Revision>
}

/** A log that the client reads is held whole, by both: more than this is asked too much of a page in a browser. */
const mostLogBytes = 32_000_000
const pieceBytes = 262_144

function bytesOf(base64: string): Uint8Array | undefined {
  try {
    return Uint8Array.from(atob(base64), unit => unit.charCodeAt(0))
  } catch {
    return undefined
  }
}

/** The size of a file that has more bytes than were asked for. */
function sizeIn(answer: unknown): number | undefined {
  const size = (answer as { readonly size?: unknown } | null | undefined)?.size
  return typeof size === 'number' ? size : undefined
}

/** A log that is there and fails to be read, for a reason that is shown to the person. */
function unreadable(why: string, size: number): LogFile {
  return {
    size,
    chunks: () => {
      throw new Error(why)
    },
  }
}

/** @param throughClient whether the client reads for the server */
export function createFiles(connection: Connection, disk: Disk | undefined, throughClient: () => boolean): ClientFiles {
  const ask = async (method: string, uri: string, most?: number): Promise<unknown> => {
    if (!throughClient()) return undefined
    try {
      return await connection.sendRequest(method, { uri, ...(most === undefined ? {} : { most }) })
    } catch {
      return undefined
    }
  }
  return {
    read: async uri => {
      if (disk?.has(uri) === true) return disk.read(uri)
      const answer = await ask(readFileMethod, uri, mostSourceBytes)
      const size = sizeIn(answer)
      if (size !== undefined) return { why: tooLarge(size) }
      return typeof answer === 'string' ? bytesOf(answer) : undefined
    },
    logs: {
      open: async uri => {
        if (disk?.has(uri) === true) return disk.logs.open(uri)
        const answer = await ask(readFileMethod, uri, mostLogBytes)
        const size = sizeIn(answer)
        if (size !== undefined)
          return unreadable(
            `it has ${Math.ceil(size / 1e6)} MB, and no more than ${mostLogBytes / 1e6} MB can be read here`,
            size,
          )
        const bytes = typeof answer === 'string' ? bytesOf(answer) : undefined
        if (bytes === undefined) return undefined
        return {
          size: bytes.length,
          chunks: async function* () {
            for (let at = 0; at < bytes.length; at += pieceBytes) yield bytes.subarray(at, at + pieceBytes)
          },
        }
      },
    },
    find: async folder => {
      if (disk?.has(folder) === true) return disk.find(folder)
      const answer = await ask(findFilesMethod, folder)
      return Array.isArray(answer) ? answer.filter(uri => typeof uri === 'string') : []
    },
  }
}
