import * as assert from 'node:assert/strict'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText } from './documents.ts'

/** The text of the paper whose title begins so, once the editor has it. */
function paper(title: string): Promise<string> {
  return eventually(`the paper ${title}`, () => {
    const found = vscode.workspace.textDocuments.find(
      ({ uri }) => uri.scheme === 'detent-paper' && uri.path.startsWith(`/${title}`),
    )
    return found === undefined || found.getText() === '' ? undefined : found.getText()
  })
}

describe('papers', () => {
  const text = `${bench}\nprofile second based-on first {\n  steps { 1 to 8 cores 47x }\n}\n`

  it('show what to enter', async () => {
    const { document } = await openText('papers.detent', text)
    await diagnosticsWith(document.uri, [])
    await vscode.commands.executeCommand('detent.showEntrySheet', document.uri.toString(), 'first')
    const sheet = await paper('Entry sheet first')
    assert.match(sheet, /^# Entry sheet: first\n/)
    assert.match(sheet, /\| 8 cores +\| \*\*48x\*\* +\|/)
  })

  it('show profiles side by side', async () => {
    const { document } = await openText('papers.detent', text)
    await diagnosticsWith(document.uri, [])
    const uri = document.uri.toString()
    const profiles = ['first', 'second'].map(profile => ({ uri, profile }))
    await vscode.commands.executeCommand('detent.compareProfiles', profiles)
    const compared = await paper('Compare first, second')
    assert.match(compared, /^# second against first\n/)
    assert.match(compared, /\| steps 1 to 2 cores +\| 52x +\| 47x +\|/)
  })
})
