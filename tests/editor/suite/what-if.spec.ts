import * as assert from 'node:assert/strict'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText } from './documents.ts'

const isField = ({ uri }: vscode.TextDocument): boolean => uri.scheme === 'detent-what-if'

function openField(): Promise<vscode.TextEditor> {
  return eventually('the field', () => vscode.window.visibleTextEditors.find(({ document }) => isField(document)))
}

async function type(field: vscode.TextEditor, text: string): Promise<void> {
  const { document } = field
  const all = new vscode.Range(0, 0, document.lineCount, 0)
  await field.edit(edit => edit.replace(all, text))
}

/** What stands above the field. */
async function lenses({ document }: vscode.TextEditor): Promise<readonly string[]> {
  const found = await vscode.commands.executeCommand<vscode.CodeLens[]>('vscode.executeCodeLensProvider', document.uri)
  return found.map(({ command }) => command?.title ?? '')
}

describe('What If', () => {
  it('shows what statements would change until its field is closed, and changes no file', async () => {
    const { document } = await openText('what-if.detent', bench)
    await diagnosticsWith(document.uri, [])
    await vscode.commands.executeCommand('detent.whatIf', document.uri.toString(), 'first')
    const field = await openField()
    await type(field, 'steps { 3 to 8 cores 40x }\n')
    await eventually('the effect', async () => {
      const found = (await lenses(field)).join('\n')
      return /^Not written · first: 1 setting, /m.test(found) || undefined
    })
    await vscode.commands.executeCommand('detent.showWhatIf')
    const page = await eventually('the page', () =>
      vscode.workspace.textDocuments.find(
        ({ uri }) => uri.scheme === 'detent-paper' && uri.path.startsWith('/What if first'),
      ),
    )
    assert.match(page.getText(), /^# What if: 1 of 1 profile differs\n/)
    // It follows what is typed.
    await type(field, 'vector -1x\nsteps { 3 to 8 cores 41x }\n')
    await eventually('the page of two statements', () => page.getText().includes('Statement 2') || undefined)
    assert.equal(document.getText(), bench)
    assert.equal(document.isDirty, false)
    await vscode.commands.executeCommand('detent.closeWhatIf')
    await eventually(
      'no field',
      () => !vscode.window.visibleTextEditors.some(one => isField(one.document)) || undefined,
    )
  })

  it('says in the field what does not read, and completes there', async () => {
    const { document } = await openText('what-if.detent', bench)
    await vscode.commands.executeCommand('detent.whatIf', document.uri.toString(), 'first')
    const field = await openField()
    await type(field, 'limits { die 95 }')
    const [problem] = await eventually('a problem in the field', () => {
      const found = vscode.languages.getDiagnostics(field.document.uri)
      return found.length > 0 ? found : undefined
    })
    assert.match(problem?.message ?? '', /`95` has no unit/)
    assert.deepEqual(problem?.range, new vscode.Range(0, 13, 0, 15))
    assert.deepEqual(vscode.languages.getDiagnostics(document.uri), [])
    await type(field, 'limits { ')
    const list = await vscode.commands.executeCommand<vscode.CompletionList>(
      'vscode.executeCompletionItemProvider',
      field.document.uri,
      new vscode.Position(0, 9),
    )
    assert.ok(list.items.some(({ label }) => label === 'sustained-power'))
    await vscode.commands.executeCommand('detent.closeWhatIf')
    await eventually(
      'no field',
      () => !vscode.window.visibleTextEditors.some(one => isField(one.document)) || undefined,
    )
  })

  it('shows what small changes would do', async () => {
    const { document } = await openText('what-if.detent', bench)
    await vscode.commands.executeCommand('detent.showSmallChanges', document.uri.toString(), 'first')
    const text = await eventually('the paper', () =>
      vscode.workspace.textDocuments
        .find(({ uri }) => uri.scheme === 'detent-paper' && uri.path.startsWith('/Small changes first'))
        ?.getText(),
    )
    assert.match(text, /^# Small changes of first\n/)
    assert.match(text, /air \+1/)
  })
})
