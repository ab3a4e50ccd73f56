/** Edits that the server has made for texts as they were, kept until the person wants them. */

import { Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient, WorkspaceEdit as ProtocolEdit } from 'vscode-languageclient'

/** As the protocol has it, for the versions that it was made for. */
export interface MadeEdit {
  readonly documentChanges?: readonly (
    | { readonly textDocument: { readonly uri: string; readonly version: number | null } }
    | { readonly kind: 'create'; readonly uri: string }
  )[]
}

export interface KeptEdit {
  /** Makes the edit, and saves nothing. False, with a notice, where a text has changed since. */
  apply(): Promise<boolean>
}

async function textAsMade({ uri, version }: { readonly uri: string; readonly version: number | null }) {
  const document = await workspace.openTextDocument(Uri.parse(uri, true))
  // Of a closed file there is no version: what counts is the text that the editor reads now.
  const isSame = version === null || document.version === version
  return { uri: document.uri, text: isSame ? document.getText() : undefined }
}

/** Notes the texts that an edit is for. */
export async function keepEdit(client: BaseLanguageClient, edit: MadeEdit): Promise<KeptEdit> {
  const changes = edit.documentChanges ?? []
  const made = new Set(changes.flatMap(one => ('kind' in one ? [one.uri] : [])))
  const texts = await Promise.all(
    changes.flatMap(one => {
      // A file that is made has no text yet; where one has come meanwhile, the editor refuses the edit.
      return 'kind' in one || made.has(one.textDocument.uri) ? [] : [textAsMade(one.textDocument)]
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
