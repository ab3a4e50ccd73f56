/** What tests inside the editor do again and again. */
import { mkdirSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import * as vscode from 'vscode'

export { diagnosticsWith, eventually } from './waiting.ts'

/** The folder the suite runs in; its files may be written freely. */
export function workspaceFolder(): string {
  const folder = vscode.workspace.workspaceFolders?.[0]
  if (folder === undefined) throw new Error('The suite runs without a folder open')
  return folder.uri.fsPath
}

/** Writes a file into the workspace folder and shows it in an editor. */
export async function openText(path: string, text: string): Promise<vscode.TextEditor> {
  const file = join(workspaceFolder(), path)
  mkdirSync(dirname(file), { recursive: true })
  writeFileSync(file, text)
  return vscode.window.showTextDocument(await vscode.workspace.openTextDocument(file))
}
