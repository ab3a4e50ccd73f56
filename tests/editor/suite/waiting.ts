/** Waiting for what the editor does in its own time; also for hosts without Node. */
import * as vscode from 'vscode'

/**
 * Asks `read` again and again until it gives something, for results that arrive some time after a change.
 *
 * Errors: rejects, naming `what`, when nothing came within 60 s, far longer than any of it takes on a machine
 * that is busy with other tests.
 */
export async function eventually<T>(what: string, read: () => T | undefined | PromiseLike<T | undefined>): Promise<T> {
  const end = Date.now() + 60_000
  while (Date.now() < end) {
    const value = await read()
    if (value !== undefined) return value
    await new Promise(resolve => setTimeout(resolve, 50))
  }
  throw new Error(`${what} did not come within 60 s`)
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
