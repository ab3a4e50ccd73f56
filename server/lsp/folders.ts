/** The folders that the client has open, and what is in which of them. */

import { type Bounds, isIn, withinFolders } from '../workspace/bounds.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { OpenPlaces } from './files.ts'

/** Where a file stands among the folders. */
export interface FolderPlace {
  /** The folder in the client's own spelling, without a slash at its end. */
  readonly folder: string
  /** The way from it to the file. */
  readonly path: string
}

function prefixOf(folder: string): string {
  return `${normalizeUri(folder.replace(/\/$/, ''))}/`
}

/**
 * The folder that a file is in; where one folder is in another, the inner one, whose settings count.
 * @param uri the file's address in the workspace's spelling
 * @returns undefined where it is in none of them
 */
export function placeIn(folders: readonly string[], uri: string): FolderPlace | undefined {
  let found: { readonly folder: string; readonly prefix: string } | undefined
  for (const folder of folders) {
    const prefix = prefixOf(folder)
    if (uri.startsWith(prefix) && prefix.length > (found?.prefix.length ?? 0)) found = { folder, prefix }
  }
  return found && { folder: found.folder.replace(/\/$/, ''), path: uri.slice(found.prefix.length) }
}

/** What a session has open. */
interface Opened {
  readonly open: ReadonlyMap<string, unknown>
  readonly folders: readonly string[]
}

/** The folders of open documents that are in none of the client's. */
function aloneIn({ open, folders }: Opened): readonly string[] {
  const alone = [...open.keys()].filter(uri => !folders.some(folder => isIn(uri, folder)))
  return [...new Set(alone.map(uri => uri.slice(0, uri.lastIndexOf('/'))))]
}

/** What files may lead to, by their addresses. */
export function boundsOf(session: () => Opened): Bounds {
  return withinFolders(
    () => session().folders,
    () => aloneIn(session()),
  )
}

/** The same for a disk, where links may lead elsewhere. A file that a person has opened is theirs to open. */
export function openPlaces(session: Opened): OpenPlaces {
  return { folders: [...session.folders, ...aloneIn(session)], files: [...session.open.keys()] }
}

/** A file as pages name it: by its way from the folder. */
export function shownPath({ folders }: Pick<Opened, 'folders'>, uri: string): string {
  const path = placeIn(folders, uri)?.path ?? uri.slice(uri.lastIndexOf('/') + 1)
  try {
    return decodeURIComponent(path)
  } catch {
    return path
  }
}

function schemeOf(uri: string): string {
  return uri.slice(0, Math.max(0, uri.indexOf(':'))).toLowerCase()
}

/**
 * Whether findings are of use in a document: in a file, in one that was never saved, and in whatever comes from where a
 * folder comes from. Any other is only looked at, as the older side of a comparison is, unless the client leaves those out.
 */
export function isWorkedOn(
  {
    client,
    folders,
  }: { readonly client: { readonly leavesOutComparisons: boolean }; readonly folders: readonly string[] },
  uri: string,
): boolean {
  if (client.leavesOutComparisons) return true
  const scheme = schemeOf(uri)
  return ['file', 'untitled'].includes(scheme) || folders.some(folder => schemeOf(folder) === scheme)
}
