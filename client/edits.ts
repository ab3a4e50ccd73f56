/** Edits that the server has made for texts as they were, kept until the person wants them. */

import { Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient, WorkspaceEdit as ProtocolEdit } from 'vscode-languageclient'

/** As the protocol has it, for the versions that it was made for. */
export interface MadeEdit {
  readonly documentChanges?: readonly {
    readonly textDocument: { readonly uri: string; readonly version: number | null }
  }[]
}

export interface KeptEdit {
  /** Makes the edit, and saves nothing. False, with a notice, where a text has changed since. */
  apply(): Promise<boolean>
}

/** Notes the texts that an edit is for. */
export async function keepEdit(client: BaseLanguageClient, edit: MadeEdit): Promise<KeptEdit> {
  const texts = await Promise.all(
    (edit.documentChanges ?? []).map(async ({ textDocument: { uri, version } }) => {
      const document = await workspace.openTextDocument(Uri.parse(uri, true))
      // Of a closed file there is no version: what counts is the text that the editor reads now.
      const isSame = version === null || document.version === version
      return { uri: document.uri, text: isSame ? document.getText() : undefined }
    }),
  )
  const converted = await client.protocol2CodeConverter.asWorkspaceEdit(edit as ProtocolEdit)
  return {
    apply: async () => {
      const now = await Promise.all(texts.map(({ uri }) => workspace.openTextDocument(uri)))
      const changed = now.find((document, index) => document.getText() !== texts[index]?.text)
      if (changed === undefined && (await workspace.applyEdit(converted))) return true
      const name = changed === undefined ? 'A file' : workspace.asRelativePath(changed.uri)
      void window.showWarningMessage(`Nothing was written: ${name} has changed in the meantime. Try again.`)
      return false
    },
  }
}
