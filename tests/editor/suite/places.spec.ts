import * as assert from 'node:assert/strict'
import { mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText, workspaceFolder } from './documents.ts'

/** Documents that are no files on the disk, and files that go from it. */

const [definitions = '', profile = ''] = bench.split('\nprofile ')
const gap = bench.replace('3 to 8 cores   48x', '4 to 8 cores   48x')

/** A file system in memory, as a virtual workspace has one. */
function memoryFileSystem(files: Map<string, Uint8Array>): vscode.FileSystemProvider {
  const changed = new vscode.EventEmitter<vscode.FileChangeEvent[]>()
  const missing = (uri: vscode.Uri): never => {
    throw vscode.FileSystemError.FileNotFound(uri)
  }
  return {
    onDidChangeFile: changed.event,
    watch: () => new vscode.Disposable(() => {}),
    stat: uri => {
      if (uri.path === '/') return { type: vscode.FileType.Directory, ctime: 0, mtime: 0, size: 0 }
      const bytes = files.get(uri.path) ?? missing(uri)
      return { type: vscode.FileType.File, ctime: 0, mtime: 0, size: bytes.length }
    },
    readDirectory: () => [...files.keys()].map(path => [path.slice(1), vscode.FileType.File]),
    readFile: uri => files.get(uri.path) ?? missing(uri),
    writeFile: (uri, content) => {
      files.set(uri.path, content)
      changed.fire([{ type: vscode.FileChangeType.Changed, uri }])
    },
    createDirectory: () => {},
    delete: () => {},
    rename: () => {},
  }
}

describe('a document that was never saved', () => {
  it('has findings, and a hover with predictions', async () => {
    const document = await vscode.workspace.openTextDocument({ language: 'detent', content: gap })
    await vscode.window.showTextDocument(document)
    assert.equal(document.uri.scheme, 'untitled')
    await diagnosticsWith(document.uri, ['steps-gap'])
    const edit = new vscode.WorkspaceEdit()
    const place = document.positionAt(gap.indexOf('4 to 8'))
    edit.replace(document.uri, new vscode.Range(place, place.translate(0, 1)), '3')
    await vscode.workspace.applyEdit(edit)
    await diagnosticsWith(document.uri, [])
  })
})

describe('a comparison', () => {
  it('has findings in the file, and none in its older side', async () => {
    const texts: vscode.TextDocumentContentProvider = { provideTextDocumentContent: () => gap }
    const registered = vscode.workspace.registerTextDocumentContentProvider('older', texts)
    try {
      const { document } = await openText('compared.detent', gap)
      const older = vscode.Uri.parse('older:/compared.detent')
      await vscode.commands.executeCommand('vscode.diff', older, document.uri, 'compared')
      const side = await eventually('the older side', () =>
        vscode.workspace.textDocuments.find(one => one.uri.toString() === older.toString()),
      )
      assert.equal(side.languageId, 'detent')
      await diagnosticsWith(document.uri, ['steps-gap'])
      // A change makes the editor ask again for whatever it would ask for.
      const edit = new vscode.WorkspaceEdit()
      edit.insert(document.uri, new vscode.Position(0, 8), ' # changed')
      await vscode.workspace.applyEdit(edit)
      await diagnosticsWith(document.uri, ['steps-gap'])
      await new Promise(resolve => setTimeout(resolve, 500))
      assert.deepEqual(vscode.languages.getDiagnostics(older), [])
      await vscode.commands.executeCommand('workbench.action.files.revert')
    } finally {
      registered.dispose()
    }
  })
})

describe('a file of a virtual file system', () => {
  it('sees the files beside it', async () => {
    const encoder = new TextEncoder()
    const files = new Map([
      ['/bench.detent', encoder.encode(definitions)],
      ['/daily.detent', encoder.encode(`detent 1\nuse "bench.detent"\n\nprofile ${profile}`)],
      ['/lost.detent', encoder.encode('detent 1\nuse "nowhere.detent"\n')],
    ])
    const registered = vscode.workspace.registerFileSystemProvider('held', memoryFileSystem(files))
    try {
      const lost = await vscode.workspace.openTextDocument(vscode.Uri.parse('held:/lost.detent'))
      await vscode.window.showTextDocument(lost)
      await diagnosticsWith(lost.uri, ['use-missing'])
      const daily = await vscode.workspace.openTextDocument(vscode.Uri.parse('held:/daily.detent'))
      await vscode.window.showTextDocument(daily)
      await eventually('a hover from two files', async () => {
        const hovers = await vscode.commands.executeCommand<vscode.Hover[]>(
          'vscode.executeHoverProvider',
          daily.uri,
          daily.positionAt(daily.getText().indexOf('48x')),
        )
        const shown = hovers
          .flatMap(hover => hover.contents.map(one => (one as vscode.MarkdownString).value))
          .join('\n')
        return /all-cores \(8 cores\).*\d\.\d\d\sGHz/.test(shown) ? shown : undefined
      })
      await diagnosticsWith(daily.uri, [])
    } finally {
      registered.dispose()
    }
  })
})

describe('a folder', () => {
  it('takes the findings of its files with it when it goes behind the editor’s back', async () => {
    const folder = join(workspaceFolder(), 'leaves')
    const file = join(folder, 'deep', 'gap.detent')
    // A watcher follows a new folder a moment later, and one that is made in it before that never: all is made slowly, and
    // once more until it is seen.
    let step = 0
    const writing = setInterval(() => {
      if (step === 0) {
        rmSync(folder, { recursive: true, force: true })
        mkdirSync(folder)
      } else if (step === 1) mkdirSync(join(folder, 'deep'))
      else writeFileSync(file, gap)
      step = (step + 1) % 8
    }, 1000)
    try {
      await diagnosticsWith(vscode.Uri.file(file), ['steps-gap'])
    } finally {
      clearInterval(writing)
    }
    rmSync(folder, { recursive: true, force: true })
    await diagnosticsWith(vscode.Uri.file(file), [])
  })
})
