/** What tests inside the editor do again and again. */
import { mkdirSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import * as vscode from 'vscode'

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

/**
 * Asks `read` again and again until it gives something, for results that arrive some time after a change.
 *
 * Errors: rejects, naming `what`, when nothing came within 15 s.
 */
export async function eventually<T>(what: string, read: () => T | undefined | PromiseLike<T | undefined>): Promise<T> {
  const end = Date.now() + 15_000
  while (Date.now() < end) {
    const value = await read()
    if (value !== undefined) return value
    await new Promise(resolve => setTimeout(resolve, 50))
  }
  throw new Error(`${what} did not come within 15 s`)
}

/** Waits until the document has diagnostics with exactly these codes, in any order. */
export function diagnosticsWith(uri: vscode.Uri, codes: readonly string[]): Promise<readonly vscode.Diagnostic[]> {
  const wanted = [...codes].sort().join(' ')
  return eventually(`diagnostics ${wanted || '(none)'} of ${uri.path}`, () => {
    const present = vscode.languages.getDiagnostics(uri)
    return present.map(codeOf).sort().join(' ') === wanted ? present : undefined
  })
}

function codeOf(diagnostic: vscode.Diagnostic): string {
  const code = diagnostic.code
  return String(typeof code === 'object' ? code.value : code)
}
