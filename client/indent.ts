/** The indent of files that were open before the editor knew the language. */

import { type TextEditor, window, workspace } from 'vscode'

/**
 * The indent of files that were open before the editor knew the language: it has taken its general default for them, and
 * keeps that. An empty one would be indented by four.
 */
function takeIndent(editor: TextEditor): void {
  const { document } = editor
  if (document.languageId !== 'detent') return
  const settings = workspace.getConfiguration('editor', document)
  if (settings.get<boolean>('detectIndentation')) return
  editor.options = {
    tabSize: settings.get<number>('tabSize', 2),
    insertSpaces: settings.get<boolean>('insertSpaces', true),
  }
}

/** Called once, when the extension starts: what opens later has the language's own indent from the beginning. */
export function takeIndents(): void {
  for (const editor of window.visibleTextEditors) takeIndent(editor)
}
