import { type ExtensionContext, Uri, workspace } from 'vscode'
import { BrowserMessageReader, BrowserMessageWriter, LanguageClient } from 'vscode-languageclient/browser'
import { activateWith } from './activate.ts'
import { workerText } from './worker-text.ts'

export { deactivate } from './activate.ts'

/** What hosts without Node have in place of processes. */
type Worker = ConstructorParameters<typeof BrowserMessageReader>[0] & { terminate(): void }
declare const Worker: new (address: string, options: { readonly name: string }) => Worker

/**
 * Starts the language server in a worker. Its text is read from files: an address of the extension's folder is one that a
 * worker can be started from in some editors only.
 */
async function startWorker({ extension, extensionUri }: ExtensionContext): Promise<Worker> {
  const read = async (name: string): Promise<Uint8Array<ArrayBuffer>> =>
    // A copy: what the editor gives may be a part of something shared, which a blob does not take.
    new Uint8Array(await workspace.fs.readFile(Uri.joinPath(extensionUri, 'dist', name)))
  const { version } = extension.packageJSON as { readonly version: string }
  const parts = [...workerText(await read('web.cjs'), await read('server.cjs'), version)]
  const address = URL.createObjectURL(new Blob(parts, { type: 'text/javascript' }))
  try {
    return new Worker(address, { name: 'Detent' })
  } finally {
    // The worker may still have to read it.
    setTimeout(() => URL.revokeObjectURL(address), 60_000)
  }
}

/**
 * The extension in a host without Node, such as an editor that runs in the browser alone. Called by the editor when a file
 * of the language is opened, or a folder that has one.
 */
export async function activate(context: ExtensionContext): Promise<void> {
  let worker: Worker | undefined
  context.subscriptions.push({ dispose: () => worker?.terminate() })
  await activateWith(
    context,
    options =>
      new LanguageClient(
        'detent',
        'Detent',
        async () => {
          // A server that said goodbye does not end by itself, as a process would.
          worker?.terminate()
          worker = await startWorker(context)
          // Not the worker alone: editors put their own class in the place of the one the client looks for.
          return { reader: new BrowserMessageReader(worker), writer: new BrowserMessageWriter(worker) }
        },
        options,
      ),
  )
}
