import { readdir, readFile, stat } from 'node:fs/promises'
import { dirname, join, relative, resolve, sep } from 'node:path'
import type { Service } from '../service.ts'
import { uriOfPath } from '../workspace/node-files.ts'
import { type Io, leaveOut, UnusableCall } from './io.ts'

/** The files a sub-command was asked about. */

export interface AskedFile {
  readonly path: string
  readonly uri: string
  /** Relative to the folder the command runs in, with `/`. */
  readonly shown: string
}

const extension = '.detent'

/** A path as outputs show it: relative to the folder of the call, with `/`. */
export function shownPath(io: Io, path: string): string {
  return relative(io.folder, path).split(sep).join('/')
}

/** The profile files below a folder. Dot folders and installed packages hold nothing that a person wrote here. */
async function filesBelow(folder: string, unread: Map<string, unknown>): Promise<string[]> {
  const found: string[] = []
  const entries = await readdir(folder, { withFileTypes: true }).catch(error => {
    unread.set(folder, error)
    return []
  })
  for (const entry of entries) {
    const path = join(folder, entry.name)
    if (entry.isDirectory()) {
      if (entry.name !== 'node_modules' && !entry.name.startsWith('.')) found.push(...(await filesBelow(path, unread)))
    } else if (entry.name.endsWith(extension) && (await isFile(path))) found.push(path)
  }
  return found
}

/** A link to a file counts as the file; a link to a folder is not followed, so that no link leads round in a circle. */
async function isFile(path: string): Promise<boolean> {
  try {
    return (await stat(path)).isFile()
  } catch {
    return false
  }
}

/** What went wrong with a file, in words. */
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
    case 'EISDIR':
      return 'it is a folder'
    default:
      return message
  }
}

/** Names what could not be read, by its path. Errors: `UnusableCall` where that leaves nothing. */
function leaveOutAll(io: Io, unread: ReadonlyMap<string, unknown>, isRestLeft: boolean): void {
  for (const [path, error] of unread) {
    const [shown, reason] = [shownPath(io, path) || '.', reasonOf(error)]
    if (!isRestLeft) throw new UnusableCall(`${shown}: ${reason}`)
    leaveOut(io, shown, reason)
  }
}

/**
 * The files that these paths name: files as they are, folders with all profile files below them, none for the folder
 * of the call. Sorted, each once. Folders that cannot be read are named and left out. Errors: `UnusableCall` where a path
 * leads nowhere, or nothing is left.
 */
export async function askedFiles(io: Io, paths: readonly string[]): Promise<readonly AskedFile[]> {
  const found = new Set<string>()
  const unread = new Map<string, unknown>()
  for (const path of paths.length === 0 ? ['.'] : paths) {
    const absolute = resolve(io.folder, path)
    try {
      if ((await stat(absolute)).isDirectory()) for (const file of await filesBelow(absolute, unread)) found.add(file)
      else found.add(absolute)
    } catch (error) {
      throw new UnusableCall(`${path}: ${reasonOf(error)}`)
    }
  }
  leaveOutAll(io, unread, found.size > 0)
  const files = [...found].map(path => ({ path, uri: uriOfPath(path), shown: shownPath(io, path) }))
  return files.sort((a, b) => (a.shown < b.shown ? -1 : a.shown > b.shown ? 1 : 0))
}

/** The profile files that stand beside these: whether one of them uses a file decides whether a name is unused. */
async function siblings(files: readonly AskedFile[]): Promise<string[]> {
  const folders = new Set(files.map(file => dirname(file.path)))
  const lists = [...folders].map(async folder => {
    const entries = await readdir(folder, { withFileTypes: true }).catch(() => [])
    return entries
      .filter(entry => entry.isFile() && entry.name.endsWith(extension))
      .map(entry => join(folder, entry.name))
  })
  return (await Promise.all(lists)).flat()
}

/**
 * Loads the files asked for and all that belongs to them; those that cannot be read are named and left out.
 * @returns those that were read. Errors: `UnusableCall` where none was.
 */
export async function loadFiles(io: Io, service: Service, files: readonly AskedFile[]): Promise<readonly AskedFile[]> {
  await service.workspace.load(files.map(file => file.uri))
  const read = files.filter(({ uri }) => service.workspace.document(uri) !== undefined)
  const unread = new Map<string, unknown>()
  for (const { path } of files.filter(file => !read.includes(file))) {
    const error = await readFile(path).then(
      () => new Error('it changed while it was read'),
      reason => reason,
    )
    unread.set(path, error)
  }
  leaveOutAll(io, unread, read.length > 0)
  await service.workspace.load((await siblings(read)).map(uriOfPath))
  return read
}
