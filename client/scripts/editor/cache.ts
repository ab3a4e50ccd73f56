/**
 * Where the served editor lives: a folder outside the checkout, so that every clone on a machine shares one copy.
 */
import { existsSync, mkdirSync } from 'node:fs'
import { homedir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'

export const root = fileURLToPath(new URL('../../..', import.meta.url))

const editorVersion = '4.139.1'

/** A served editor that is complete on disk. */
export interface ServedEditor {
  /** The Node that its native modules were built for. */
  readonly nodePath: string
  /** The server's main script. */
  readonly serverScript: string
}

/** The cache folder: DETENT_EDITOR_CACHE, else one in the user's cache folder, else one in the checkout. */
export function editorCache(env: NodeJS.ProcessEnv): string {
  const named = env.DETENT_EDITOR_CACHE
  if (named) return named
  const userCache = env.XDG_CACHE_HOME || join(homedir(), '.cache')
  const folder = join(userCache, 'detent-editor')
  try {
    mkdirSync(folder, { recursive: true })
    return folder
  } catch {
    return join(root, '.cache', 'editor')
  }
}

/** The folder of this version; the name holds all that its contents depend on. */
export function editorFolder(env: NodeJS.ProcessEnv): string {
  return join(editorCache(env), `code-server-${editorVersion}-${process.platform}-${process.arch}-${process.version}`)
}

export function editorPackage(): string {
  return `code-server@${editorVersion}`
}

export function editorIn(folder: string): ServedEditor {
  return {
    nodePath: join(folder, 'node_modules', nodePackageName(), 'bin', 'node'),
    serverScript: join(folder, 'node_modules', 'code-server', 'lib', 'vscode', 'out', 'server-main.js'),
  }
}

export function nodePackageName(): string {
  return `node-${process.platform}-${process.arch}`
}

/** The served editor if an earlier run installed it, without installing anything. */
export function cachedEditor(env: NodeJS.ProcessEnv): ServedEditor | undefined {
  const folder = editorFolder(env)
  return existsSync(join(folder, '.complete')) ? editorIn(folder) : undefined
}
