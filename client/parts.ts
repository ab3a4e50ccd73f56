/** The part that a command is about. */

import { type QuickPickItem, Uri, window, workspace } from 'vscode'
import type { BaseLanguageClient } from 'vscode-languageclient'

export interface KnownPart {
  readonly uri: string
  readonly part: string
  readonly runs: number
}

interface PartItem extends QuickPickItem {
  readonly known: KnownPart
}

export interface Wanted {
  readonly isMeant: (part: KnownPart) => boolean
  /** Said where no part is meant. */
  readonly none: string
  /** Asked where several are. */
  readonly which: string
  readonly describe: (part: KnownPart) => string
}

/** The part on whose name the cursor is, the only one that is meant, or the one that is chosen. */
export async function chosenPart(
  client: BaseLanguageClient,
  { isMeant, none, which, describe }: Wanted,
): Promise<KnownPart | undefined> {
  const all = await client.sendRequest<readonly KnownPart[]>('detent/parts', {})
  const editor = window.activeTextEditor
  const range = editor?.document.getWordRangeAtPosition(editor.selection.active, /[a-z][a-z0-9-]*/)
  const word = range && editor?.document.getText(range)
  const meant = all.filter(isMeant)
  const atCursor = meant.filter(({ part }) => part === word)
  if (atCursor.length === 1) return atCursor[0]
  if (meant.length === 0) {
    void window.showInformationMessage(none)
    return undefined
  }
  if (meant.length === 1) return meant[0]
  const items = meant.map((known): PartItem => {
    const file = workspace.asRelativePath(Uri.parse(known.uri))
    return { label: known.part, description: describe(known), detail: file, known }
  })
  return (await window.showQuickPick(items, { placeHolder: which }))?.known
}
