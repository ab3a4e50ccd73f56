/** Revisions that runs name: looked up in git where the person asks for it. */

import { Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'
import { ask } from './papers.ts'

interface LookedUp {
  readonly runs: number
  readonly notHad: number
}

/** Looks up the revisions of a file's runs; without a file those of the one in which the person works. */
export async function lookUpRevisions(client: BaseLanguageClient, given: unknown): Promise<void> {
  const document = window.activeTextEditor?.document
  const uri = typeof given === 'string' ? Uri.parse(given, true) : document?.languageId === 'detent' && document.uri
  if (!uri) {
    void window.showInformationMessage('Open the file whose runs name revisions first.')
    return
  }
  const found = await ask<LookedUp>(client, 'detent/lookUpRevisions', { uri: uri.toString() })
  if (found === undefined) return
  if (found.runs === 0) void window.showInformationMessage('No run of this file names a revision.')
  else if (found.notHad > 0)
    void window.showWarningMessage(
      `${found.notHad} of ${found.runs} revisions could not be read; the findings at the runs say why.`,
    )
}

/** Tells the server when the person comes to trust the workspace. */
export function followTrust(client: BaseLanguageClient) {
  return workspace.onDidGrantWorkspaceTrust(() => client.sendNotification('detent/trust', { isTrusted: true }))
}
