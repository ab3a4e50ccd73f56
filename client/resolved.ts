/** A profile with all that it starts from, as a document beside the text; the server writes it. */

import { commands, type DocumentSymbol, SymbolKind, Uri, ViewColumn, window, workspace } from 'vscode'

const scheme = 'detent-resolved'

/** The address of the document; its path is what the tab shows. */
function addressOf(file: string, profile: string): Uri {
  return Uri.from({ scheme, path: `/${profile} (resolved).detent`, query: `profile=${profile}&file=${file}` })
}

/** The profiles of a file, as its outline has them. */
export async function profilesOf(uri: Uri): Promise<readonly DocumentSymbol[]> {
  const symbols = await commands.executeCommand<DocumentSymbol[] | undefined>(
    'vscode.executeDocumentSymbolProvider',
    uri,
  )
  return (symbols ?? []).filter(({ kind }) => kind === SymbolKind.Interface)
}

/** The profile around the cursor, the only one of the file, or the one that is chosen. */
export async function chosenProfile(): Promise<{ readonly file: string; readonly profile: string } | undefined> {
  const editor = window.activeTextEditor
  if (editor?.document.languageId !== 'detent') {
    void window.showInformationMessage('Put the cursor in a profile first.')
    return undefined
  }
  const { uri } = editor.document
  const profiles = await profilesOf(uri)
  const around = profiles.find(({ range }) => range.contains(editor.selection.active))
  const names = profiles.map(({ name }) => name)
  const [only] = names
  const profile =
    around?.name ?? (names.length === 1 ? only : await window.showQuickPick(names, { placeHolder: 'Which profile?' }))
  return profile === undefined ? undefined : { file: uri.toString(), profile }
}

/**
 * Opens a profile with all that it starts from.
 * @param file the address of its file; without one, the profile is looked for where the cursor is
 */
export async function showResolved(file: unknown, profile: unknown): Promise<void> {
  const given = typeof file === 'string' && typeof profile === 'string' ? { file, profile } : undefined
  const chosen = given ?? (await chosenProfile())
  if (chosen === undefined) return
  const document = await workspace.openTextDocument(addressOf(chosen.file, chosen.profile))
  await window.showTextDocument(document, { viewColumn: ViewColumn.Beside, preview: true, preserveFocus: true })
}
