import { normalizeUri } from '../workspace/files.ts'

/** The folders that the client has open, and what is in which of them. */

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

/** Whether a file, in the workspace's spelling, is somewhere in a folder. */
export function inFolder(uri: string, folder: string): boolean {
  return uri.startsWith(prefixOf(folder))
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
