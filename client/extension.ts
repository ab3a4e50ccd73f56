/** The extension's entry in a host with Node. */

import { type ExtensionContext, tasks, Uri } from 'vscode'
import { LanguageClient, type ServerOptions, TransportKind } from 'vscode-languageclient/node'
import { activateWith } from './activate.ts'
import { serverFlags } from './server-flags.ts'
import { createTasks } from './tasks.ts'

export { deactivate } from './activate.ts'

/**
 * The extension in a host with Node: the language server is a process of its own. Called by the editor when a file of the
 * language is opened, or a folder that has one.
 */
export async function activate(context: ExtensionContext): Promise<void> {
  const command = Uri.joinPath(context.extensionUri, 'dist', 'detent.cjs').fsPath
  context.subscriptions.push(tasks.registerTaskProvider('detent', createTasks(command)))
  const run = {
    module: command,
    args: ['language-server'],
    transport: TransportKind.stdio,
    options: { execArgv: [...serverFlags] },
  } satisfies ServerOptions
  await activateWith(context, options => new LanguageClient('detent', 'Detent', { run, debug: run }, options))
}
