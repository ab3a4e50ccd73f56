/** The files a sub-command was asked about. */

import { readdir, stat } from 'node:fs/promises'
import { dirname, join, relative, resolve, sep } from 'node:path'
import { Option } from 'commander'
import { createService, type Service } from '../service.ts'
import { anywhere, type Bounds, withinFolders } from '../workspace/bounds.ts'
import { revisionAround } from '../workspace/git.ts'
import { filesWithin, logsWithin, type Reach, reasonOf, uriOfPath } from '../workspace/node-files.ts'
import { type Io, leaveOut, UnusableCall } from './io.ts'

export interface AskedFile {
  readonly path: string
  readonly uri: string
  /** Relative to the folder the command runs in, with `/`. */
  readonly shown: string
}

/** What a call was given: its files, and what those may lead to. */
export interface Asked {
  readonly files: readonly AskedFile[]
  /** Undefined where the person said that files may lead anywhere. */
  readonly reach: Reach | undefined
  readonly bounds: Bounds
}

export interface ReachOptions {
  readonly allowOutside?: true
}

/** `--allow-outside`: for benches whose files lie in several folders, with no path that names the outermost. */
export function allowOutsideOption(): Option {
  return new Option('--allow-outside', 'follow `use` and `log` out of the folders of the paths')
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
    } else if (entry.name.endsWith(extension)) {
      const kind = await kindOf(path)
      if (kind === 'file') found.push(path)
      // A pipe or a device; a link that leads nowhere is left behind by editors, and no file of anybody's.
      else if (kind === 'other') unread.set(path, new Error('it is not a regular file'))
    }
  }
  return found
}

/** A link to a file counts as the file; a link to a folder is not followed, so that no link leads round in a circle. */
async function kindOf(path: string): Promise<'file' | 'folder' | 'other' | 'nothing'> {
  try {
    const found = await stat(path)
    return found.isFile() ? 'file' : found.isDirectory() ? 'folder' : 'other'
  } catch {
    return 'nothing'
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
export async function askedFiles(io: Io, paths: readonly string[], options: ReachOptions): Promise<Asked> {
  const found = new Set<string>()
  const [folders, named] = [new Set<string>(), new Set<string>()]
  const unread = new Map<string, unknown>()
  for (const path of paths.length === 0 ? ['.'] : paths) {
    const absolute = resolve(io.folder, path)
    try {
      if ((await stat(absolute)).isDirectory()) {
        folders.add(absolute)
        for (const file of await filesBelow(absolute, unread)) found.add(file)
      } else {
        folders.add(dirname(absolute))
        named.add(absolute)
        found.add(absolute)
      }
    } catch (error) {
      throw new UnusableCall(`${path}: ${reasonOf(error)}`)
    }
  }
  leaveOutAll(io, unread, found.size > 0)
  const files = [...found].map(path => ({ path, uri: uriOfPath(path), shown: shownPath(io, path) }))
  files.sort((a, b) => (a.shown < b.shown ? -1 : a.shown > b.shown ? 1 : 0))
  return { files, ...within([...folders], [...named], options) }
}

/** What files may lead to: what the folders have, and what is named. */
function within(
  folders: readonly string[],
  named: readonly string[],
  { allowOutside }: ReachOptions,
): Pick<Asked, 'reach' | 'bounds'> {
  if (allowOutside === true) return { reach: undefined, bounds: anywhere }
  const uris = folders.map(uriOfPath)
  const bounds = withinFolders(
    () => uris,
    () => [],
  )
  return { reach: { folders, files: named }, bounds }
}

/** Standard input, which leads to what the folder of the call has. */
export function askedInput(io: Io, options: ReachOptions): Asked {
  return { files: [], ...within([io.folder], [], options) }
}

/**
 * What reads the files of a call, and what these lead to.
 * @param runs whether logs and revisions of runs are read as well, where they are asked for
 */
export function serviceFor({ reach, bounds }: Asked, runs: 'with runs' | 'without runs'): Service {
  const within = (): Reach | undefined => reach
  const files = filesWithin(within)
  if (runs === 'without runs') return createService(files, { bounds })
  return createService(files, { logs: logsWithin(within), revisions: revisionAround, bounds })
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
export async function loadFiles(io: Io, service: Service, { files }: Asked): Promise<readonly AskedFile[]> {
  await service.workspace.load(files.map(file => file.uri))
  const read = files.filter(({ uri }) => service.workspace.document(uri) !== undefined)
  const unread = new Map<string, unknown>()
  for (const { path, uri } of files.filter(file => !read.includes(file))) {
    unread.set(path, new Error(service.workspace.unread(uri) ?? 'there is no such file or folder'))
  }
  leaveOutAll(io, unread, read.length > 0)
  await service.workspace.load((await siblings(read)).map(uriOfPath))
  return read
}
