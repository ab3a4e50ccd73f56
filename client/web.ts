import { type ExtensionContext, Uri, workspace } from 'vscode'
import { LanguageClient } from 'vscode-languageclient/browser'
import { activateWith } from './activate.ts'

export { deactivate } from './activate.ts'

/** There in hosts without Node. */
declare const Worker: new (address: string, options: { readonly name: string }) => Worker

/**
 * Starts the language server in a worker. Its text is read as a file: an address of the extension's folder is one that a
 * worker can be started from in some editors only.
 */
async function startWorker({ extension, extensionUri }: ExtensionContext): Promise<Worker> {
  const text = await workspace.fs.readFile(Uri.joinPath(extensionUri, 'dist', 'server.cjs'))
  const { version } = extension.packageJSON as { readonly version: string }
  const parts = [
    'const module = { exports: {} }, exports = module.exports;\n',
    // A copy: what the editor gives may be a part of something shared, which a blob does not take.
    new Uint8Array(text),
    `\n;module.exports.startWorker(self, ${JSON.stringify(version)});`,
  ]
  const address = URL.createObjectURL(new Blob(parts, { type: 'text/javascript' }))
  try {
    return new Worker(address, { name: 'Detent' })
  } finally {
    // The worker may still have to read it.
    setTimeout(() => URL.revokeObjectURL(address), 60_000)
  }
}

/** The extension in a host without Node, such as an editor that runs in the browser alone. */
export async function activate(context: ExtensionContext): Promise<void> {
  await activateWith(context, options => new LanguageClient('detent', 'Detent', () => startWorker(context), options))
}
