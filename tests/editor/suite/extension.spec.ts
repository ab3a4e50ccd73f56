import * as assert from 'node:assert/strict'
import { join } from 'node:path'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { workspaceFolder } from './documents.ts'

describe('the extension', () => {
  it('gives a .detent file its language and is then active', async () => {
    const document = await vscode.workspace.openTextDocument(join(workspaceFolder(), 'plain.detent'))
    assert.equal(document.languageId, 'detent')

    const extension = vscode.extensions.getExtension('detent.detent')
    assert.ok(extension, 'the extension is known')
    await extension.activate()
    assert.equal(extension.isActive, true)
  })
})
