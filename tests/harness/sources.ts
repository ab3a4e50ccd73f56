/** The project's own files, for tests that read them. */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

export const root = fileURLToPath(new URL('../..', import.meta.url))

/** Folders that git ignores and that therefore hold nothing of the project. */
const ignored = new Set(['node_modules', '.git', 'dist', '.cache', '.vscode-test', 'test-output'])

/** A file's path from the top, with `/`, and its text. */
export interface Source {
  readonly path: string
  readonly text: string
}

/** Every path of the project, sorted, whether committed yet or not. */
export function projectPaths(): readonly string[] {
  const walk = (folder: string): string[] =>
    readdirSync(join(root, folder), { withFileTypes: true }).flatMap(entry => {
      const path = folder === '' ? entry.name : `${folder}/${entry.name}`
      if (ignored.has(entry.name)) return []
      return entry.isDirectory() ? walk(path) : [path]
    })
  return walk('').sort()
}

/** The files whose path `wanted` accepts. */
export function readSources(wanted: (path: string) => boolean): readonly Source[] {
  return projectPaths()
    .filter(wanted)
    .map(path => ({ path, text: readFileSync(join(root, path), 'utf8') }))
}
