import * as assert from 'node:assert/strict'
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, openText, workspaceFolder } from './documents.ts'

/** Runs of the bench in the editor. */

const rows = 'elapsed,core clock,package,hot spot,fan\n0,4712,182,64,900\n1,4711,182,64,900\n'

function writeLog(name: string, text: string): vscode.Uri {
  const folder = join(workspaceFolder(), 'logs')
  mkdirSync(folder, { recursive: true })
  writeFileSync(join(folder, name), text)
  return vscode.Uri.file(join(folder, name))
}

describe('a run from a log', () => {
  it('is written into the file in view, shown there, and not saved', async () => {
    const log = writeLog('evening.csv', rows)
    const { document } = await openText('run-from-log.detent', bench)
    await diagnosticsWith(document.uri, [])
    const uri = document.uri.toString()
    await vscode.commands.executeCommand('detent.addRun', uri, log.toString(), 'first', 'all-cores')
    assert.ok(document.getText().startsWith(`${bench}\nrun evening of first under all-cores {\n`))
    assert.ok(document.getText().includes('  log "logs/evening.csv" {\n    column time "elapsed" s\n'))
    assert.ok(document.isDirty)
    const editor = vscode.window.activeTextEditor
    assert.equal(editor?.document.uri.toString(), uri)
    assert.equal(document.getText(editor?.selection), 'evening')
    assert.ok(editor?.visibleRanges.some(range => range.contains(editor.selection)))
    // Formatting on save finds nothing to do.
    const before = document.getText()
    await document.save()
    assert.equal(document.getText(), before)
  })

  it('is not written where the file does not see the profile', async () => {
    const log = writeLog('evening.csv', rows)
    const { document } = await openText('run-unseen.detent', 'detent 1\n')
    await vscode.commands.executeCommand('detent.addRun', document.uri.toString(), log.toString(), 'first', 'all-cores')
    assert.equal(document.getText(), 'detent 1\n')
  })
})
