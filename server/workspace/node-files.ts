import { open, readFile } from 'node:fs/promises'
import { fileURLToPath, pathToFileURL } from 'node:url'
import type { LogFile, LogSource } from '../bench/log/source.ts'
import { type FileSystem, normalizeUri } from './files.ts'

/** The disk, for the command and for the language server where it runs beside the files. */

/** The address of a file on this machine, in the one spelling that the workspace uses. */
export function uriOfPath(path: string): string {
  return normalizeUri(pathToFileURL(path).href)
}

/** The path of a `file:` address; undefined for every other scheme and for an address that names no path here. */
export function pathOfUri(uri: string): string | undefined {
  if (!uri.startsWith('file:')) return undefined
  try {
    return fileURLToPath(uri)
  } catch {
    return undefined
  }
}

/** Files of this machine by their `file:` addresses. What cannot be read counts as not there. */
export const nodeFiles: FileSystem = {
  read: async uri => {
    const path = pathOfUri(uri)
    if (path === undefined) return undefined
    try {
      return await readFile(path)
    } catch {
      return undefined
    }
  },
}

/** Pieces large enough that the disk is not what a log waits for. */
const logPieceBytes = 262_144

/** A file that is there and cannot be read. */
function unreadable(why: string): LogFile {
  return {
    size: undefined,
    chunks: () => {
      throw new Error(why)
    },
  }
}

/** Logs of this machine by their `file:` addresses, read piece by piece. */
export const nodeLogs: LogSource = {
  open: async uri => {
    const path = pathOfUri(uri)
    if (path === undefined) return undefined
    try {
      const file = await open(path)
      const found = await file.stat()
      if (found.isDirectory()) {
        await file.close()
        return unreadable('it is a folder')
      }
      return {
        size: found.size,
        chunks: () => file.createReadStream({ highWaterMark: logPieceBytes }) as AsyncIterable<Uint8Array>,
      }
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException
      if (code === 'ENOENT' || code === 'ENOTDIR') return undefined
      return unreadable(code === 'EACCES' || code === 'EPERM' ? 'permission denied' : `${code}`)
    }
  },
}
