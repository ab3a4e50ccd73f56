/** The files of the machine on which the server runs. */

import { readdir } from 'node:fs/promises'
import { dirname, join } from 'node:path'
import { isNetworkPath } from '../workspace/files.ts'
import { revisionAround } from '../workspace/git.ts'
import { isInRepository } from '../workspace/git-program.ts'
import { filesWithin, logsWithin, pathOfUri, type Reach, uriOfPath } from '../workspace/node-files.ts'
import type { Disk, OpenPlaces } from './files.ts'

const passedOver: ReadonlySet<string> = new Set(['node_modules'])
/** A folder nested deeper is taken for a circle of links. */
const deepest = 24

async function findIn(folder: string, depth: number, into: string[]): Promise<void> {
  if (depth > deepest) return
  const entries = await readdir(folder, { withFileTypes: true }).catch(() => [])
  await Promise.all(
    entries.map(async entry => {
      const path = join(folder, entry.name)
      if (entry.isDirectory()) {
        if (!entry.name.startsWith('.') && !passedOver.has(entry.name)) await findIn(path, depth + 1, into)
      } else if (entry.name.endsWith('.detent')) into.push(path)
    }),
  )
}

/** @param open what is open by now: files are read within it, and those that a person has opened wherever they are */
export function createDisk(open: () => OpenPlaces): Disk {
  const paths = (uris: readonly string[]): string[] => uris.flatMap(uri => pathOfUri(uri) ?? [])
  const reach = (): Reach => {
    const { folders, files } = open()
    return { folders: paths(folders), files: paths(files) }
  }
  return {
    has: uri => pathOfUri(uri) !== undefined,
    read: filesWithin(reach).read,
    logs: logsWithin(reach),
    revisionOf: revisionAround,
    isInRepository: uri => {
      const path = pathOfUri(uri)
      return path !== undefined && !isNetworkPath(path) && isInRepository(dirname(path))
    },
    find: async folder => {
      const path = pathOfUri(folder)
      if (path === undefined) return []
      const found: string[] = []
      await findIn(path, 0, found)
      return found.sort().map(uriOfPath)
    },
  }
}
