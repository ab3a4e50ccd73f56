import { readdir, readFile, stat } from 'node:fs/promises'
import { dirname, join, relative, resolve, sep } from 'node:path'
import type { Service } from '../service.ts'
import { uriOfPath } from '../workspace/node-files.ts'
import { type Io, UnusableCall } from './io.ts'

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
async function filesBelow(folder: string): Promise<string[]> {
  const found: string[] = []
  for (const entry of await readdir(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name)
    if (entry.isDirectory()) {
      if (entry.name !== 'node_modules' && !entry.name.startsWith('.')) found.push(...(await filesBelow(path)))
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

/**
 * The files that these paths name: files as they are, folders with all profile files below them, none for the folder
 * of the call. Sorted, each once. Errors: `UnusableCall` where a path leads nowhere.
 */
export async function askedFiles(io: Io, paths: readonly string[]): Promise<readonly AskedFile[]> {
  const found = new Set<string>()
  for (const path of paths.length === 0 ? ['.'] : paths) {
    const absolute = resolve(io.folder, path)
    try {
      if ((await stat(absolute)).isDirectory()) for (const file of await filesBelow(absolute)) found.add(file)
      else found.add(absolute)
    } catch (error) {
      throw new UnusableCall(`${path}: ${reasonOf(error)}`)
    }
  }
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

/** Loads the files asked for and all that belongs to them. Errors: `UnusableCall` where one cannot be read. */
export async function loadFiles(service: Service, files: readonly AskedFile[]): Promise<void> {
  await service.workspace.load(files.map(file => file.uri))
  for (const { uri, path, shown } of files) {
    if (service.workspace.document(uri) !== undefined) continue
    const reason = await readFile(path).then(
      () => 'it changed while it was read',
      error => reasonOf(error),
    )
    throw new UnusableCall(`${shown}: ${reason}`)
  }
  await service.workspace.load((await siblings(files)).map(uriOfPath))
}
