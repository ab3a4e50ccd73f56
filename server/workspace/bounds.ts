/**
 * What a file may lead to: files below the folders that a person opened or named, and no others. A text that comes from
 * elsewhere could otherwise have another file's words shown in a message, or have a network share asked for a password.
 */

import { normalizeUri } from './files.ts'

/** Whether one file may lead to another, both by their addresses. */
export type Bounds = (from: string, to: string) => boolean

/** Why a file is not opened, in words that go on a sentence. */
export const outside = 'it lies outside the folders that are open'

function prefixOf(folder: string): string {
  return `${normalizeUri(folder).replace(/\/$/, '')}/`
}

/** Whether a file, in the workspace's spelling, is somewhere in a folder. */
export function isIn(uri: string, folder: string): boolean {
  return uri.startsWith(prefixOf(folder))
}

/** The machine that an address names; empty for this one, and for addresses that name none. */
function hostOf(uri: string): string {
  return /^[a-z][a-z0-9+.-]*:\/\/([^/]*)/i.exec(uri)?.[1]?.toLowerCase() ?? ''
}

/** Whether an address leads to another place than files of one machine can: another machine, another scheme. */
function leavesMachine(from: string, to: string): boolean {
  const scheme = (uri: string): string => uri.slice(0, uri.indexOf(':')).toLowerCase()
  return scheme(from) !== scheme(to) || hostOf(from) !== hostOf(to)
}

/**
 * Within the folders that are open. A file in none of them leads to what is in its own folder: that of the documents
 * that were opened by themselves.
 * @param folders those that are open
 * @param alone the folders of documents that stand in none of those
 */
export function withinFolders(folders: () => readonly string[], alone: () => readonly string[]): Bounds {
  return (from, to) => {
    if (from === to) return true
    if (leavesMachine(from, to)) return false
    const open = folders()
    if (open.some(folder => isIn(to, folder))) return true
    if (open.some(folder => isIn(from, folder))) return false
    return alone().some(folder => isIn(from, folder) && isIn(to, folder))
  }
}

/** To any file of the same machine. */
export const anywhere: Bounds = (from, to) => !leavesMachine(from, to)
