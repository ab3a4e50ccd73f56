import { commands, type ExtensionContext, tasks, Uri, window, workspace } from 'vscode'
import { explainCheck } from './pages.ts'
import { createServer, type Server } from './server.ts'
import { createStatus } from './status.ts'
import { createTasks } from './tasks.ts'

let server: Server | undefined

/** Opens the example as a new file, so that it can be changed freely. */
async function openExample(extension: Uri): Promise<void> {
  const bytes = await workspace.fs.readFile(Uri.joinPath(extension, 'grammar', 'examples', 'first.detent'))
  const content = new TextDecoder().decode(bytes)
  await window.showTextDocument(await workspace.openTextDocument({ language: 'detent', content }))
}

/** Called by the editor when a file of the language is opened, or a folder that has one. */
export async function activate(context: ExtensionContext): Promise<void> {
  const { extensionUri, subscriptions } = context
  const status = createStatus()
  const made = createServer(extensionUri, state => status.show(state))
  server = made
  const reference = Uri.joinPath(extensionUri, 'grammar', 'reference', 'checks.md')
  const command = Uri.joinPath(extensionUri, 'dist', 'detent.cjs').fsPath
  subscriptions.push(
    status,
    commands.registerCommand('detent.restartServer', () => made.restart()),
    commands.registerCommand('detent.showOutput', () => made.client.outputChannel.show(true)),
    commands.registerCommand('detent.explainCheck', (code?: unknown) =>
      explainCheck(reference, typeof code === 'string' ? code : undefined),
    ),
    commands.registerCommand('detent.openExample', () => openExample(extensionUri)),
    tasks.registerTaskProvider('detent', createTasks(command)),
  )
  await made.start()
}

/** Called by the editor when it closes or the extension is turned off. */
export async function deactivate(): Promise<void> {
  await server?.stop()
  server = undefined
}
