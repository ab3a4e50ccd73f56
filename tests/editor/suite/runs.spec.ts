import * as assert from 'node:assert/strict'
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText, workspaceFolder } from './documents.ts'

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

const measured = (name: string, load: string, figures: string): string =>
  `\nrun ${name} of first under ${load} {\n  air 22 °C\n  humidity 45 %\n  measured { ${figures} }\n}\n`

/** Invented figures, read off by hand; the bench and its runs stand in two files. */
async function fitBench(): Promise<vscode.TextDocument> {
  const loads = 'load all-cores { cores 8 }\n\nload half { cores 4 }\n\nload two { cores 2 }'
  const runs = [
    'detent 1\nuse "fit-bench.detent"\n',
    measured('one', 'all-cores', 'clock 4.70 GHz; voltage 1.160 V; power 168.0 W; die 66.0 °C'),
    measured('two', 'half', 'clock 4.75 GHz; voltage 1.165 V; power 99.0 W; die 53.0 °C'),
    measured('three', 'two', 'clock 5.20 GHz; voltage 1.270 V; power 74.0 W; die 51.0 °C'),
    measured('four', 'all-cores', 'clock 4.65 GHz; voltage 1.150 V; power 163.0 W; die 65.0 °C'),
  ]
  await openText('fit-runs.detent', runs.join(''))
  const { document } = await openText('fit-bench.detent', bench.replace('load all-cores { cores 8 }', loads))
  return document
}

describe('a fit', () => {
  it('is an action on the part, made once it is chosen', async () => {
    const document = await fitBench()
    const position = document.positionAt(document.getText().indexOf('rig-one'))
    const range = new vscode.Range(position, position)
    const actions = await eventually('the action', async () => {
      const found = await vscode.commands.executeCommand<vscode.CodeAction[]>(
        'vscode.executeCodeActionProvider',
        document.uri,
        range,
        vscode.CodeActionKind.RefactorRewrite.value,
        5,
      )
      return found.some(({ title }) => title === 'Fit rig-one to its 4 runs') ? found : undefined
    })
    const edit = actions[0]?.edit
    assert.ok(edit)
    assert.deepEqual(
      edit
        .entries()
        .map(([uri]) => uri.path.slice(uri.path.lastIndexOf('/') + 1))
        .sort(),
      [document.uri.path.slice(document.uri.path.lastIndexOf('/') + 1), 'rig-one.fitted.detent'],
    )
    await vscode.workspace.applyEdit(edit)
    assert.match(document.getText(), /\n {2}switching +2\.\d+ nF ± 0\.\d+ nF\n/)
    await vscode.commands.executeCommand('workbench.action.files.revert')
  })

  it('is shown as a paper before anything is written', async () => {
    const document = await fitBench()
    const before = document.getText()
    await vscode.commands.executeCommand('detent.fitPart', document.uri.toString(), 'rig-one')
    const paper = await eventually('the paper', () =>
      vscode.workspace.textDocuments.find(({ uri }) => uri.scheme === 'detent-paper' && uri.path === '/Fit rig-one.md'),
    )
    assert.match(paper.getText(), /^# Fit of part rig-one\n/)
    assert.match(paper.getText(), /\| switching +\| 2\.3 +\| 2\.\d+ +\|/)
    assert.equal(document.getText(), before)
  })
})

describe('a log that a run names', () => {
  const steady = `package,hot spot\n${'120,64\n120.2,64.1\n'.repeat(1200)}`
  const run =
    '\nrun watched of first under all-cores {\n  log "logs/watched.csv" {\n    column power "package" W\n  }\n}\n'

  it('is read again when it changes, goes or comes behind the editor’s back, and can be followed', async () => {
    const log = writeLog('watched.csv', steady.replace('package', 'socket'))
    const { document } = await openText('watched.detent', bench + run)
    const codes = (...wanted: string[]) => diagnosticsWith(document.uri, wanted)
    await codes('run-log')
    writeLog('watched.csv', steady)
    // What was measured is far from what is predicted.
    await codes('prediction-off')
    rmSync(log.fsPath)
    await codes('run-log')
    writeLog('watched.csv', steady)
    await codes('prediction-off')
    const links = await vscode.commands.executeCommand<vscode.DocumentLink[]>(
      'vscode.executeLinkProvider',
      document.uri,
    )
    assert.deepEqual(
      links.map(({ range, target }) => `${document.getText(range)} ${target?.path}`),
      [`logs/watched.csv ${log.path}`],
    )
  })
})

describe('the bench report', () => {
  it('is shown as a paper and saved as a page', async () => {
    const { document } = await openText('reported.detent', bench.replaceAll('first', 'reported'))
    await diagnosticsWith(document.uri, [])
    const page = join(workspaceFolder(), 'report.html')
    const target = vscode.Uri.file(page).toString()
    await vscode.commands.executeCommand('detent.benchReport', ['reported'], undefined, target)
    const html = readFileSync(page, 'utf8')
    assert.match(html, /^<!doctype html>/)
    assert.ok(/<h2[^>]*>Profile reported<\/h2>/.test(html))
    assert.ok(html.includes('<svg class="detent-chart"'), 'the charts are drawn')
    await eventually('the paper', () =>
      vscode.workspace.textDocuments.find(
        one => one.uri.path === '/Bench report.md' && one.getText().includes('\n## Profile reported\n'),
      ),
    )
  })
})
