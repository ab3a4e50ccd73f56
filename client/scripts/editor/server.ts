/** Starts and stops the served editor. */
import { type ChildProcess, spawn, spawnSync } from 'node:child_process'
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import type { ServedEditor } from './cache.ts'

/** A served editor that answers. */
export interface RunningServer {
  /** Such as `http://127.0.0.1:43215`. */
  readonly url: string
  stop(): Promise<void>
}

/** Settings that keep everything but the project out of the picture, so that screenshots and timings stay the same. */
const quietSettings = {
  'security.workspace.trust.enabled': false,
  'workbench.startupEditor': 'none',
  'workbench.tips.enabled': false,
  'workbench.secondarySideBar.defaultVisibility': 'hidden',
  'chat.disableAIFeatures': true,
  'chat.commandCenter.enabled': false,
  'telemetry.telemetryLevel': 'off',
  'update.mode': 'none',
  'extensions.autoCheckUpdates': false,
  'extensions.autoUpdate': false,
  'extensions.ignoreRecommendations': true,
  'git.enabled': false,
  'files.autoSave': 'off',
  'window.restoreWindows': 'none',
}

/** Closes the editor in front, saved or not. */
export const closeKey = 'Control+Alt+Shift+F8'
/** Brings the rest of the window to where it stands at the start. */
export const tidyKey = 'Control+Alt+Shift+F9'

const tidying = [
  'notifications.clearAll',
  'notifications.hideList',
  'workbench.action.closePanel',
  'workbench.action.closeAuxiliaryBar',
  'workbench.action.joinAllGroups',
  'workbench.view.explorer',
]

const bound = (key: string): string => key.replace('Control', 'ctrl').toLowerCase()

const keybindings = [
  { key: bound(closeKey), command: 'workbench.action.revertAndCloseActiveEditor' },
  { key: bound(tidyKey), command: 'runCommands', args: { commands: tidying } },
]

/** How long the server may take to answer. */
const startMs = 30_000

/**
 * Writes the settings that every window of a server with this data folder starts from.
 * @param settings those that differ from the quiet ones
 */
export function prepareData(dataFolder: string, settings: Readonly<Record<string, unknown>> = {}): void {
  for (const area of ['Machine', 'User']) {
    const folder = join(dataFolder, 'data', area)
    mkdirSync(folder, { recursive: true })
    writeFileSync(join(folder, 'settings.json'), JSON.stringify({ ...quietSettings, ...settings }, undefined, 2))
    writeFileSync(join(folder, 'keybindings.json'), JSON.stringify(keybindings, undefined, 2))
  }
}

/** Installs a packed extension into the data folder, before a server is started on it. */
export function installExtension(editor: ServedEditor, dataFolder: string, vsix: string): void {
  const result = spawnSync(
    editor.nodePath,
    [
      editor.serverScript,
      '--install-extension',
      vsix,
      '--force',
      '--server-data-dir',
      dataFolder,
      '--accept-server-license-terms',
    ],
    { encoding: 'utf8' },
  )
  if (result.status !== 0) throw new Error(`${vsix} could not be installed:\n${result.stdout}\n${result.stderr}`)
}

/**
 * Starts the server on a free port.
 * @param variables of the environment that differ from this process's own
 *
 * Errors: rejects when the server ends, or says nothing, before it is ready.
 */
export function startServer(
  editor: ServedEditor,
  dataFolder: string,
  variables: NodeJS.ProcessEnv = {},
): Promise<RunningServer> {
  const child = spawn(
    editor.nodePath,
    [
      editor.serverScript,
      ...['--host', '127.0.0.1', '--port', '0', '--without-connection-token'],
      ...['--server-data-dir', dataFolder, '--accept-server-license-terms'],
      ...['--telemetry-level', 'off', '--enable-smoke-test-driver'],
    ],
    { stdio: ['ignore', 'pipe', 'pipe'], env: { ...serverEnvironment(), ...variables } },
  )
  return new Promise((resolve, reject) => {
    let output = ''
    const timer = setTimeout(() => give(new Error(`The editor did not start in ${startMs} ms:\n${output}`)), startMs)
    const give = (result: Error | RunningServer) => {
      clearTimeout(timer)
      if (result instanceof Error) {
        child.kill()
        reject(result)
      } else resolve(result)
    }
    const read = (chunk: Buffer) => {
      output += chunk.toString()
      const port = /listening on (\d+)/.exec(output)?.[1]
      if (port) give({ url: `http://127.0.0.1:${port}`, stop: () => stop(child) })
    }
    child.stdout.on('data', read)
    child.stderr.on('data', read)
    child.once('exit', code => give(new Error(`The editor ended with code ${code}:\n${output}`)))
  })
}

/** An editor started from a terminal of another editor must not take that one for its parent. */
function serverEnvironment(): NodeJS.ProcessEnv {
  return Object.fromEntries(Object.entries(process.env).filter(([name]) => !name.startsWith('VSCODE_')))
}

function stop(child: ChildProcess): Promise<void> {
  return new Promise(resolve => {
    if (child.exitCode !== null || child.signalCode !== null) return resolve()
    child.once('exit', () => resolve())
    child.kill('SIGTERM')
    setTimeout(() => child.kill('SIGKILL'), 3000).unref()
  })
}
