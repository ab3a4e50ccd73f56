/**
 * The disk, for the command and for the language server where it runs beside the files. Only regular files are opened: a
 * pipe or a device has no end, and reading some of them does something.
 */

import { constants, realpathSync, type Stats } from 'node:fs'
import { type FileHandle, open, realpath, stat } from 'node:fs/promises'
import { isAbsolute, relative } from 'node:path'
import { fileURLToPath, pathToFileURL } from 'node:url'
import type { LogFile, LogSource } from '../bench/log/source.ts'
import { outside } from './bounds.ts'
import { type FileSystem, mostSourceBytes, normalizeUri, tooLarge, type Unread } from './files.ts'

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

/** What may be opened, by paths: the files named, and all below the folders. Links that lead elsewhere are not followed. */
export interface Reach {
  readonly folders: readonly string[]
  readonly files: readonly string[]
}

/** What went wrong with a file, in words that go on a sentence. */
export function reasonOf(error: unknown): string {
  const { code, message } = error as NodeJS.ErrnoException
  switch (code) {
    case 'ENOENT':
      return 'there is no such file or folder'
    case 'EACCES':
    case 'EPERM':
      return 'permission denied'
    case 'ENOSPC':
      return 'the disk is full'
    case 'EROFS':
      return 'it lies on a disk that cannot be written'
    case 'ENAMETOOLONG':
      return 'its path is too long'
    case 'EISDIR':
      return 'it is a folder'
    case 'ELOOP':
      return 'its links lead round in a circle'
    default:
      return message
  }
}

/** Names that mean a device in whatever folder they stand, with any ending. */
const windowsDevice = /^(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])(?:[.: ].*)?$/i

function isDeviceName(path: string): boolean {
  return process.platform === 'win32' && path.split(/[\\/]/).some(part => windowsDevice.test(part))
}

/** The kernel's own tables say that they are regular files, and are neither of a size nor anybody's text. */
const isKernels = (path: string): boolean => process.platform !== 'win32' && /^\/(?:proc|sys)(?:\/|$)/.test(path)

function kindOf(found: Stats): string | undefined {
  if (found.isFile()) return undefined
  return found.isDirectory() ? 'it is a folder' : 'it is not a regular file'
}

/** A folder may be reached by a link itself. Evicted never: as many as were opened or named. */
const realFolders = new Map<string, string>()

function realFolder(folder: string): string {
  let real = realFolders.get(folder)
  if (real === undefined) {
    try {
      // As the files below are followed: a drive that is mapped to another machine has that machine's name then.
      real = realpathSync.native(folder)
    } catch {
      return folder
    }
    realFolders.set(folder, real)
  }
  return real
}

function isBelow(path: string, folder: string): boolean {
  const way = relative(realFolder(folder), path)
  return way !== '' && !/^\.\.(?:[\\/]|$)/.test(way) && !isAbsolute(way)
}

interface Opened {
  readonly file: FileHandle
  readonly size: number
}

/**
 * Opens a regular file to read it. The caller closes it.
 * @param reach undefined where any file may be opened
 * @returns undefined where there is none, and why where it is not opened
 */
async function openRegular(path: string, reach: Reach | undefined): Promise<Opened | Unread | undefined> {
  try {
    if (isDeviceName(path) || isKernels(path)) return { why: 'it is not a regular file' }
    // Looked at before it is opened: to open a device is to use it.
    const before = kindOf(await stat(path))
    if (before !== undefined) return { why: before }
    const real = await realpath(path)
    if (isKernels(real)) return { why: 'it is not a regular file' }
    const isReached =
      reach === undefined || reach.files.includes(path) || reach.folders.some(folder => isBelow(real, folder))
    if (!isReached) return { why: outside }
    // It may be another by now: a pipe that nobody writes to must not be waited for.
    const file = await open(real, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0))
    const found = await file.stat()
    const now = kindOf(found)
    if (now === undefined) return { file, size: found.size }
    await file.close()
    return { why: now }
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    return code === 'ENOENT' || code === 'ENOTDIR' ? undefined : { why: reasonOf(error) }
  }
}

/** @param most bytes that are read, and one more where there are more */
async function readUpTo(file: FileHandle, size: number, most: number): Promise<Uint8Array> {
  let bytes = new Uint8Array(Math.min(size, most) + 1)
  let length = 0
  for (;;) {
    const { bytesRead } = await file.read(bytes, length, bytes.length - length, length)
    length += bytesRead
    if (bytesRead === 0 || length > most) return bytes.subarray(0, length)
    // It grows while it is read.
    if (length === bytes.length) {
      const more = new Uint8Array(Math.min(bytes.length * 2, most + 1))
      more.set(bytes)
      bytes = more
    }
  }
}

/** The bytes of a source: undefined where there is none, and why where it is not read. */
export async function readSource(path: string, reach?: Reach): Promise<Uint8Array | Unread | undefined> {
  const opened = await openRegular(path, reach)
  if (opened === undefined || 'why' in opened) return opened
  const { file, size } = opened
  try {
    if (size > mostSourceBytes) return { why: tooLarge(size) }
    const bytes = await readUpTo(file, size, mostSourceBytes)
    return bytes.length > mostSourceBytes ? { why: tooLarge(undefined) } : bytes
  } catch (error) {
    return { why: reasonOf(error) }
  } finally {
    await file.close()
  }
}

/** Files of this machine by their `file:` addresses, within a reach that may change. */
export function filesWithin(reach: () => Reach | undefined): FileSystem {
  return {
    read: async uri => {
      const path = pathOfUri(uri)
      return path === undefined ? undefined : readSource(path, reach())
    },
  }
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

/** What there is when it is opened: a log that is still written to would otherwise have no end. */
async function* piecesOf({ file, size }: Opened): AsyncIterable<Uint8Array> {
  if (size === 0) await file.close()
  else yield* file.createReadStream({ highWaterMark: logPieceBytes, end: size - 1 }) as AsyncIterable<Uint8Array>
}

/** Logs of this machine by their `file:` addresses, of any size, read piece by piece. */
export function logsWithin(reach: () => Reach | undefined): LogSource {
  return {
    open: async uri => {
      const path = pathOfUri(uri)
      if (path === undefined) return undefined
      const opened = await openRegular(path, reach())
      if (opened === undefined) return undefined
      if ('why' in opened) return unreadable(opened.why)
      return { size: opened.size, chunks: () => piecesOf(opened) }
    },
  }
}

/** All files of this machine, for what a person has named. */
export const nodeFiles: FileSystem = filesWithin(() => undefined)
