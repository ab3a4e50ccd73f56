import * as assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText, workspaceFolder } from './documents.ts'

const [definitions = '', profile = ''] = bench.split('\nprofile ')
const user = `detent 1\nuse "names/parts.detent"\n\nprofile ${profile}`

function at(document: vscode.TextDocument, piece: string): vscode.Position {
  return document.positionAt(document.getText().indexOf(piece))
}

describe('names in two files', () => {
  it('are renamed in both, and a moved file keeps its users', async () => {
    await openText('names/parts.detent', definitions)
    const { document } = await openText('names-user.detent', user)
    await diagnosticsWith(document.uri, [])

    const [target] = await vscode.commands.executeCommand<(vscode.Location | vscode.LocationLink)[]>(
      'vscode.executeDefinitionProvider',
      document.uri,
      at(document, 'shed'),
    )
    assert.ok(target)
    assert.match(('targetUri' in target ? target.targetUri : target.uri).path, /names\/parts\.detent$/)

    const edit = await vscode.commands.executeCommand<vscode.WorkspaceEdit>(
      'vscode.executeDocumentRenameProvider',
      document.uri,
      at(document, 'shed'),
      'attic',
    )
    assert.equal(edit.entries().length, 2)
    await vscode.workspace.applyEdit(edit)
    await diagnosticsWith(document.uri, [])
    const written = (): string => readFileSync(join(workspaceFolder(), 'names/parts.detent'), 'utf8')
    await eventually('the new name on disk', async () => {
      // The editor takes a moment to count a file as changed that no tab shows.
      await vscode.workspace.saveAll()
      return written().includes('room attic {') ? true : undefined
    })

    const move = new vscode.WorkspaceEdit()
    const from = vscode.Uri.file(join(workspaceFolder(), 'names/parts.detent'))
    // At a second try the file of the first one is there.
    move.renameFile(from, vscode.Uri.file(join(workspaceFolder(), 'names/bench.detent')), { overwrite: true })
    await vscode.workspace.applyEdit(move)
    await eventually('the use line', () => (document.getText().includes('use "names/bench.detent"') ? true : undefined))
    await diagnosticsWith(document.uri, [])
  })
})

describe('beside the text', () => {
  it('stand the predicted clock and how many expectations hold', async () => {
    const text = bench.replace('  bands {', '  expect all-cores holds >= 4.0 GHz\n  bands {')
    const { document } = await openText('beside.detent', text)
    await diagnosticsWith(document.uri, [])
    const lenses = await vscode.commands.executeCommand<vscode.CodeLens[]>(
      'vscode.executeCodeLensProvider',
      document.uri,
      9,
    )
    assert.deepEqual(
      // Within a repository there is one more.
      lenses.map(lens => lens.command?.title).filter(title => title !== 'Since last commit …'),
      ['1 of 1 expectation holds', 'Charts'],
    )
    const whole = new vscode.Range(0, 0, document.lineCount, 0)
    const hints = await vscode.commands.executeCommand<vscode.InlayHint[]>(
      'vscode.executeInlayHintProvider',
      document.uri,
      whole,
    )
    const labels = hints.map(hint => String(hint.label))
    assert.ok(
      labels.some(label => /^\d\.\d\d GHz$/.test(label)),
      labels.join(' / '),
    )
    assert.ok(
      labels.some(label => label.startsWith('dew point ')),
      labels.join(' / '),
    )
  })
})
