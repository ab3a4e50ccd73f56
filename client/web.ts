/** The extension's entry in a host without Node. */

import { type ExtensionContext, Uri, workspace } from 'vscode'
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient, State } from 'vscode-languageclient/browser'
import { activateWith } from './activate.ts'
import { hostLocks, whenGone } from './worker-life.ts'
import { workerText } from './worker-text.ts'

export { deactivate } from './activate.ts'

/** What hosts without Node have in place of processes. */
type Worker = ConstructorParameters<typeof BrowserMessageReader>[0] & { terminate(): void }
declare const Worker: new (address: string, options: { readonly name: string }) => Worker

/**
 * Starts the language server in a worker. Its text is read from files: an address of the extension's folder is one that a
 * worker can be started from in some editors only.
 * @param life the name of the lock that it holds as long as it lives
 */
async function startWorker({ extension, extensionUri }: ExtensionContext, life: string): Promise<Worker> {
  const read = async (name: string): Promise<Uint8Array<ArrayBuffer>> =>
    // A copy: what the editor gives may be a part of something shared, which a blob does not take.
    new Uint8Array(await workspace.fs.readFile(Uri.joinPath(extensionUri, 'dist', name)))
  const { version } = extension.packageJSON as { readonly version: string }
  const parts = [...workerText(await read('web.cjs'), await read('server.cjs'), version, life)]
  const address = URL.createObjectURL(new Blob(parts, { type: 'text/javascript' }))
  try {
    return new Worker(address, { name: 'Detent' })
  } finally {
    // The worker may still have to read it.
    setTimeout(() => URL.revokeObjectURL(address), 60_000)
  }
}

/** A reader that can be closed: a worker that has ended sends no word of it. */
class WorkerReader extends BrowserMessageReader {
  end(): void {
    this.fireClose()
  }
}

interface Running {
  readonly worker: Worker
  readonly reader: WorkerReader
  readonly life: string
}

/**
 * The extension in a host without Node, such as an editor that runs in the browser alone. Called by the editor when a file
 * of the language is opened, or a folder that has one.
 */
export async function activate(context: ExtensionContext): Promise<void> {
  let running: Running | undefined
  const end = (): void => {
    const before = running
    running = undefined
    before?.worker.terminate()
  }
  /** Once it is gone without our doing, the client hears of it and starts another, as it does where a process ended. */
  const watch = async (): Promise<void> => {
    const locks = hostLocks()
    const watched = running
    if (locks === undefined || watched === undefined) return
    await whenGone(locks, watched.life)
    if (running === watched) watched.reader.end()
  }
  context.subscriptions.push({ dispose: end })
  await activateWith(context, options => {
    const client = new LanguageClient(
      'detent',
      'Detent',
      async () => {
        // A server that said goodbye does not end by itself, as a process would.
        end()
        const life = `detent-${crypto.randomUUID()}`
        const worker = await startWorker(context, life)
        // Not the worker alone: editors put their own class in the place of the one the client looks for.
        running = { worker, reader: new WorkerReader(worker), life }
        return { reader: running.reader, writer: new BrowserMessageWriter(worker) }
      },
      options,
    )
    context.subscriptions.push(
      client.onDidChangeState(({ newState }) => {
        const { holdsLock } = (client.initializeResult?.capabilities.experimental ?? {}) as {
          readonly holdsLock?: boolean
        }
        if (newState === State.Running && holdsLock === true) void watch()
      }),
    )
    return client
  })
}
