import * as vscode from 'vscode'
import { hostLocks, whenGone } from '../../../client/worker-life.ts'
import { bench } from '../suite/bench.ts'
import { diagnosticsWith, eventually } from '../suite/waiting.ts'
import * as assert from './assert.ts'

/** The extension in a host without Node: the server in a worker, which reads every file through the client. */

const [definitions = '', profile = ''] = bench.split('\nprofile ')
const daily = `detent 1\nuse "bench.detent"\n\nprofile ${profile}`

function place(name: string): vscode.Uri {
  const folder = vscode.workspace.workspaceFolders?.[0]
  if (folder === undefined) throw new Error('The suite runs without a folder open')
  return vscode.Uri.joinPath(folder.uri, name)
}

async function write(name: string, text: string): Promise<vscode.Uri> {
  const uri = place(name)
  await vscode.workspace.fs.writeFile(uri, new TextEncoder().encode(text))
  return uri
}

async function show(name: string, text: string): Promise<vscode.TextEditor> {
  return vscode.window.showTextDocument(await vscode.workspace.openTextDocument(await write(name, text)))
}

function positionOf(document: vscode.TextDocument, piece: string): vscode.Position {
  const offset = document.getText().indexOf(piece)
  assert.ok(offset >= 0, `${piece} is in the text`)
  return document.positionAt(offset)
}

async function hoverText(document: vscode.TextDocument, piece: string): Promise<string> {
  const hovers = await vscode.commands.executeCommand<vscode.Hover[]>(
    'vscode.executeHoverProvider',
    document.uri,
    positionOf(document, piece),
  )
  return hovers
    .flatMap(hover => hover.contents)
    .map(content => (typeof content === 'string' ? content : content.value))
    .join('\n')
    .replaceAll('\u00a0', ' ')
}

/** What is said in a warning while something is done. */
async function warningOf(act: () => Thenable<unknown>): Promise<string> {
  const window = vscode.window as { showWarningMessage: (text: string) => unknown }
  const { showWarningMessage } = window
  let said = ''
  window.showWarningMessage = text => {
    said += text
    return showWarningMessage(text)
  }
  try {
    await act()
  } finally {
    window.showWarningMessage = showWarningMessage
  }
  return said
}

interface EndedWorker {
  terminate(): void
  addEventListener(kind: 'message', heard: (message: unknown) => void): void
}
type MakeWorker = new (address: string, options?: unknown) => EndedWorker

describe('the extension in a host without Node', () => {
  it('starts there', async () => {
    assert.equal(typeof (globalThis as { importScripts?: unknown }).importScripts, 'function')
    const extension = vscode.extensions.getExtension('detent.detent')
    assert.ok(extension, 'the extension')
    await extension.activate()
    assert.equal(extension.isActive, true)
  })

  it('finds what is wrong with what other files say, and follows what is typed', async () => {
    await write('bench.detent', definitions)
    const editor = await show('daily.detent', daily.replace('3 to 8 cores   48x', '4 to 8 cores   48x'))
    const { document } = editor
    const [gap] = await diagnosticsWith(document.uri, ['steps-gap'])
    assert.match(gap?.message ?? '', /3 active cores/)
    const start = positionOf(document, '4 to 8')
    await editor.edit(edit => edit.replace(new vscode.Range(start, start.translate(0, 1)), '3'))
    await diagnosticsWith(document.uri, [])
    await document.save()
  })

  it('shows in a hover what is predicted from two files', async () => {
    const { document } = await show('daily.detent', daily)
    const text = await eventually('the hover', async () => {
      const shown = await hoverText(document, '48x')
      return shown === '' ? undefined : shown
    })
    assert.match(text, /\| all-cores \(8 cores\) +\| \d\.\d\d GHz +\| \d+\.\d °C/)
  })

  it('opens the panel beside the text, and reads what its page has in it', async () => {
    const editor = await show('daily.detent', daily)
    const at = positionOf(editor.document, 'profile first')
    const said = await warningOf(async () => {
      await vscode.commands.executeCommand('detent.showBeside', editor.document.uri.toString(), at)
      const tab = await eventually('the picture', () =>
        vscode.window.tabGroups.all.flatMap(({ tabs }) => tabs).find(({ label }) => label === 'Beside: first'),
      )
      await vscode.window.tabGroups.close(tab)
    })
    assert.equal(said, '')
    const { extensionUri } = vscode.extensions.getExtension('detent.detent') as vscode.Extension<unknown>
    for (const name of ['beside.css', 'beside.js']) {
      const bytes = await vscode.workspace.fs.readFile(vscode.Uri.joinPath(extensionUri, 'client', 'views', name))
      assert.match(new TextDecoder().decode(bytes), /picture/)
    }
  })

  it('has fixes and formats', async () => {
    const { document } = await show('untidy.detent', bench.replace('0.65 V', '0,65 V').replace('45 %', '45%'))
    const [found] = await diagnosticsWith(document.uri, ['syntax'])
    assert.ok(found, 'the finding')
    const actions = await vscode.commands.executeCommand<vscode.CodeAction[]>(
      'vscode.executeCodeActionProvider',
      document.uri,
      found.range,
      vscode.CodeActionKind.QuickFix.value,
      5,
    )
    const fix = actions.find(action => action.title === 'Write `0.65`')
    assert.ok(fix?.edit, 'the fix has its edit')
    await vscode.workspace.applyEdit(fix.edit)
    await document.save()
    assert.equal(document.getText(), bench)
  })

  it('follows files that change behind its back', async () => {
    await write('bench.detent', definitions)
    const { document } = await show('daily.detent', daily)
    await diagnosticsWith(document.uri, [])
    await write('bench.detent', definitions.replace('room shed', 'room cellar'))
    await diagnosticsWith(document.uri, ['unknown-name'])
    await write('bench.detent', definitions)
    await diagnosticsWith(document.uri, [])
  })

  it('renames across files', async () => {
    const { document } = await show('daily.detent', daily)
    const edit = await vscode.commands.executeCommand<vscode.WorkspaceEdit>(
      'vscode.executeDocumentRenameProvider',
      document.uri,
      positionOf(document, 'rig-one'),
      'rig-two',
    )
    const files = edit.entries().map(([uri, edits]) => `${uri.path.split('/').at(-1)} ${edits.length}`)
    assert.equal(files.sort().join(', '), 'bench.detent 1, daily.detent 1')
  })

  it('writes a run from a log, which comes through the client', async () => {
    await write('bench.detent', definitions)
    const log = await write('evening.csv', 'elapsed,core clock,package\n0,4712,182\n1,4711,182\n')
    const { document } = await show('logged.detent', daily)
    // A busy machine takes its time to say that the other file has changed.
    await eventually('the bench', async () =>
      (await hoverText(document, '48x')).includes('all-cores') ? true : undefined,
    )
    const said = await warningOf(() =>
      vscode.commands.executeCommand('detent.addRun', document.uri.toString(), log.toString(), 'first', 'all-cores'),
    )
    // The units are a guess from two rows.
    assert.match(said, /^Run evening takes time, clock and power from its log/)
    assert.match(document.getText(), /\nrun evening of first under all-cores \{\n {2}log "evening\.csv" \{\n/)
    // The log has two rows: that it is never steady can be known only where it was read.
    await diagnosticsWith(document.uri, ['run-log'])
  })

  it('answers in a document that was never saved', async () => {
    const document = await vscode.workspace.openTextDocument({
      language: 'detent',
      content: 'detent 1\nroom r {\n  air 20\n}\n',
    })
    await vscode.window.showTextDocument(document)
    await diagnosticsWith(document.uri, ['missing-key', 'unit-missing'])
  })

  it('is started again by the command, with its documents', async () => {
    const { document } = await show('daily.detent', daily.replace('3 to 8 cores   48x', '4 to 8 cores   48x'))
    await diagnosticsWith(document.uri, ['steps-gap'])
    let gone = false
    const listening = vscode.languages.onDidChangeDiagnostics(() => {
      gone ||= vscode.languages.getDiagnostics(document.uri).length === 0
    })
    await vscode.commands.executeCommand('detent.restartServer')
    await eventually('the findings of the worker before are gone', async () => gone || undefined)
    listening.dispose()
    await diagnosticsWith(document.uri, ['steps-gap'])
    assert.match(await hoverText(document, 'rig-one'), /part \*\*rig-one\*\*/)
  })

  it('is started again with its documents when its worker is gone', async () => {
    // The command starts a worker that this test knows: whoever ends it otherwise is the browser.
    const host = globalThis as unknown as { Worker: MakeWorker }
    const made: EndedWorker[] = []
    const { Worker } = host
    host.Worker = class extends Worker {
      constructor(...given: readonly [string, unknown?]) {
        super(...given)
        made.push(this)
      }
    }
    try {
      const editor = await show('killed.detent', daily.replace('3 to 8 cores   48x', '4 to 8 cores   48x'))
      const { document } = editor
      await vscode.commands.executeCommand('detent.restartServer')
      await diagnosticsWith(document.uri, ['steps-gap'])
      assert.equal(made.length, 1)
      made[0]?.terminate()
      await eventually('another worker', () => made.length > 1 || undefined)
      const start = positionOf(document, '4 to 8 cores')
      await editor.edit(edit => edit.replace(new vscode.Range(start, start.translate(0, 1)), '3'))
      await diagnosticsWith(document.uri, [])
      // The findings of the worker before may just have gone: the new one answers when it has read the files.
      const text = await eventually('a hover from the new worker', async () => {
        const shown = await hoverText(document, 'rig-one')
        return shown === '' ? undefined : shown
      })
      assert.match(text, /part \*\*rig-one\*\*/)
      assert.equal(made.length, 2)
    } finally {
      host.Worker = Worker
    }
  })

  it('tells a worker that answers nothing from one that is gone', async () => {
    const locks = hostLocks()
    assert.ok(locks, 'the locks of the browser')
    const { Worker } = globalThis as unknown as { Worker: MakeWorker }
    // It takes its lock, says so, and from there on is as busy as one that is debugged.
    const text = `navigator.locks.request('busy', () => {
      postMessage('held')
      setTimeout(() => { for (;;); })
      return new Promise(() => undefined)
    })`
    const worker = new Worker(URL.createObjectURL(new Blob([text], { type: 'text/javascript' })))
    await new Promise(resolve => worker.addEventListener('message', resolve))
    let said = false
    const gone = whenGone(locks, 'busy').then(() => {
      said = true
    })
    await new Promise(resolve => setTimeout(resolve, 500))
    assert.equal(said, false)
    worker.terminate()
    await gone
    await whenGone(locks, 'of nobody')
  })
})
