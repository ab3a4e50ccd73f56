/** Messages with text of the server in them: an editor makes links of `[…](…)` there, those to commands among them. */

import { window } from 'vscode'

/** The text with nothing in it that a link could be made of. */
export function withoutLinks(text: string): string {
  return text.replaceAll('](', '] (')
}

export function warn(text: string): void {
  void window.showWarningMessage(withoutLinks(text))
}

export function inform(text: string): void {
  void window.showInformationMessage(withoutLinks(text))
}
