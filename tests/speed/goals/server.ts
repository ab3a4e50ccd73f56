/** A language server in a process of its own, and the editor that talks to it. */

import { type ChildProcess, spawn } from 'node:child_process'
import { once } from 'node:events'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import {
  CancellationTokenSource,
  createProtocolConnection,
  type ProtocolConnection,
  type ServerCapabilities,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver/node'
import { modernCapabilities } from '../../harness/client.ts'
import { root } from '../../harness/sources.ts'
import type { Probed } from './probe.ts'

export interface Started {
  readonly capabilities: ServerCapabilities
  /** Called whenever the server wants to be asked again. */
  onRefresh: () => void
  notify(method: string, params: unknown): void
  /** The answer, and what takes the request back; an answer of an error is undefined. */
  ask(method: string, params: unknown): { readonly answer: Promise<unknown>; cancel(): void }
  /** What the probe noted since it was last asked; only where the server was started with it. */
  probed(): Promise<Probed>
  /** Seconds of processor time of the main thread since the start; undefined where the system does not say. */
  cpuMs(): number | undefined
  stop(): Promise<void>
}

const capabilities = {
  ...modernCapabilities,
  textDocument: {
    ...modernCapabilities.textDocument,
    semanticTokens: {
      ...modernCapabilities.textDocument?.semanticTokens,
      requests: { full: { delta: true }, range: true },
    },
  },
}

/** Of the first thread of a process, by what Linux counts in nanoseconds. */
function mainThreadMs(child: ChildProcess): number | undefined {
  try {
    return Number(readFileSync(`/proc/${child.pid}/task/${child.pid}/schedstat`, 'utf8').split(' ')[0]) / 1e6
  } catch {
    return undefined
  }
}

/** @param isProbed starts it with the probe and with a garbage collection that can be asked for */
export async function startServer(
  args: readonly string[],
  { folder, isProbed }: { readonly folder?: string; readonly isProbed: boolean },
): Promise<Started> {
  const probe = ['--expose-gc', '--import', `file://${join(root, 'tests/speed/goals/probe.ts')}`]
  const child = spawn(process.execPath, [...(isProbed ? probe : []), ...args], {
    stdio: isProbed ? ['pipe', 'pipe', 'inherit', 'ipc'] : ['pipe', 'pipe', 'inherit'],
  })
  const { stdin, stdout } = child
  if (stdin === null || stdout === null) throw new Error('its streams are pipes')
  const connection: ProtocolConnection = createProtocolConnection(
    new StreamMessageReader(stdout),
    new StreamMessageWriter(stdin),
  )
  const started: { onRefresh: () => void } = { onRefresh: () => undefined }
  for (const what of ['diagnostic', 'inlayHint', 'codeLens'])
    connection.onRequest(`workspace/${what}/refresh`, () => {
      started.onRefresh()
      return null
    })
  connection.onRequest('workspace/configuration', ({ items }: { items: readonly unknown[] }) => items.map(() => null))
  for (const what of ['client/registerCapability', 'client/unregisterCapability', 'window/workDoneProgress/create'])
    connection.onRequest(what, () => null)
  connection.listen()
  const initialized = await connection.sendRequest<{ readonly capabilities: ServerCapabilities }>('initialize', {
    processId: process.pid,
    rootUri: folder ?? null,
    capabilities,
    workspaceFolders: folder === undefined ? null : [{ uri: folder, name: 'bench' }],
  })
  void connection.sendNotification('initialized', {})
  return Object.assign(started, {
    capabilities: initialized.capabilities,
    notify: (method: string, params: unknown) => void connection.sendNotification(method, params),
    ask: (method: string, params: unknown) => {
      const source = new CancellationTokenSource()
      const answer = connection.sendRequest<unknown>(method, params, source.token).catch(() => undefined)
      return { answer, cancel: () => source.cancel() }
    },
    probed: async () => {
      child.send('figures')
      const [figures] = (await once(child, 'message')) as [Probed]
      return figures
    },
    cpuMs: () => mainThreadMs(child),
    stop: async () => {
      const ended = once(child, 'exit')
      await connection.sendRequest('shutdown')
      void connection.sendNotification('exit')
      await ended
      connection.dispose()
    },
  })
}
