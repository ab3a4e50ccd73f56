import * as assert from 'node:assert/strict'
import { execFileSync } from 'node:child_process'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, it } from 'mocha'
import * as vscode from 'vscode'
import { bench } from './bench.ts'
import { diagnosticsWith, eventually, openText, workspaceFolder } from './documents.ts'

/** The bundled command, as a person runs it, on a file of the workspace. */
function detent(...args: string[]): string {
  const extension = vscode.extensions.getExtension('detent.detent')
  assert.ok(extension)
  return execFileSync(process.execPath, [join(extension.extensionPath, 'dist', 'detent.cjs'), ...args], {
    cwd: workspaceFolder(),
    encoding: 'utf8',
    env: { ...process.env, ELECTRON_RUN_AS_NODE: '1' },
  })
}

function positionOf(document: vscode.TextDocument, piece: string): vscode.Position {
  const offset = document.getText().indexOf(piece)
  assert.ok(offset >= 0, `${piece} is in the text`)
  return document.positionAt(offset)
}

async function hoverText(document: vscode.TextDocument, position: vscode.Position): Promise<string> {
  const hovers = await vscode.commands.executeCommand<vscode.Hover[]>(
    'vscode.executeHoverProvider',
    document.uri,
    position,
  )
  return hovers
    .flatMap(hover => hover.contents)
    .map(content => (typeof content === 'string' ? content : content.value))
    .join('\n')
    .replaceAll('\u00a0', ' ')
}

describe('findings', () => {
  it('come and go with what is typed', async () => {
    const editor = await openText('typed.detent', bench.replace('3 to 8 cores   48x', '4 to 8 cores   48x'))
    const { document } = editor
    const [gap] = await diagnosticsWith(document.uri, ['steps-gap'])
    assert.match(gap?.message ?? '', /3 active cores/)
    const code = gap?.code as { target: vscode.Uri } | undefined
    assert.match(code?.target.path ?? '', /\/steps-gap\.md$/)
    const start = positionOf(document, '4 to 8')
    await editor.edit(edit => edit.replace(new vscode.Range(start, start.translate(0, 1)), '3'))
    await diagnosticsWith(document.uri, [])
  })

  it('have quick fixes that remove them', async () => {
    const { document } = await openText('fixed.detent', bench.replace('0.65 V', '0,65 V'))
    const [found] = await diagnosticsWith(document.uri, ['syntax'])
    assert.ok(found)
    const actions = await vscode.commands.executeCommand<vscode.CodeAction[]>(
      'vscode.executeCodeActionProvider',
      document.uri,
      found.range,
      vscode.CodeActionKind.QuickFix.value,
      5,
    )
    const fix = actions.find(action => action.title === 'Write `0.65`')
    assert.ok(fix?.edit, 'the fix has its edit')
    assert.equal(fix.isPreferred, true)
    await vscode.workspace.applyEdit(fix.edit)
    assert.equal(document.getText(), bench)
  })
})

describe('hover', () => {
  it('shows the clock that the command predicts', async () => {
    const { document } = await openText('hovered.detent', bench)
    await diagnosticsWith(document.uri, [])
    const output = JSON.parse(detent('predict', '--output', 'json', 'hovered.detent')) as {
      predictions: { load: string; air_c: number; clock_mhz: number; die_c: number }[]
    }
    const cells = [20, 27].map(air => {
      const one = output.predictions.find(prediction => prediction.load === 'all-cores' && prediction.air_c === air)
      assert.ok(one)
      return [`${(one.clock_mhz / 1000).toPrecision(3)} GHz`, `${one.die_c.toFixed(1)} °C`]
    })
    const text = await hoverText(document, positionOf(document, '48x\n  }'))
    // The warmest corner first.
    const rows = text.split('\n').filter(line => line.startsWith('| all-cores (8 cores)'))
    assert.equal(rows.length, cells.length, text)
    cells.reverse().forEach((figures, index) => {
      for (const figure of figures) assert.ok(rows[index]?.includes(figure), `${rows[index]} has ${figure}`)
    })
  })
})

describe('format on save', () => {
  it('writes what the command would write', async () => {
    const untidy = bench
      .replace('    3 to 8 cores   48x', '  3 to 8 cores 48 x')
      .replace('45 %', '45%')
      .replaceAll('°C', '℃')
    const editor = await openText('saved.detent', untidy)
    const { document } = editor
    await eventually('the server', async () => {
      const text = await hoverText(document, positionOf(document, 'rig-one'))
      return text === '' ? undefined : text
    })
    // The editor saves a text as it is while it knows of nobody who formats it.
    await eventually('the formatter', async () => {
      const command = 'vscode.executeFormatDocumentProvider'
      const edits = await vscode.commands.executeCommand<vscode.TextEdit[] | undefined>(command, document.uri, {})
      return edits?.length ? edits : undefined
    })
    // A change is needed for the editor to save at all.
    await editor.edit(edit => edit.insert(document.positionAt(untidy.length), '# end\n'))
    await document.save()
    const path = join(workspaceFolder(), 'saved.detent')
    const saved = readFileSync(path, 'utf8')
    assert.notEqual(saved, `${untidy}# end\n`)
    assert.equal(saved, `${bench}# end\n`)
    detent('format', 'saved.detent')
    assert.equal(readFileSync(path, 'utf8'), saved)
  })
})

describe('the server', () => {
  /** Processes of the language server that the extension host has started. */
  function serverProcesses(): readonly number[] {
    return readdirSync('/proc').flatMap(name => {
      if (!/^\d+$/.test(name)) return []
      try {
        const command = readFileSync(`/proc/${name}/cmdline`, 'utf8')
        const parent = /\nPPid:\t(\d+)/.exec(readFileSync(`/proc/${name}/status`, 'utf8'))?.[1]
        return command.includes('language-server') && parent === String(process.pid) ? [Number(name)] : []
      } catch {
        return []
      }
    })
  }

  it('comes back with its documents when it was killed', async function () {
    if (process.platform !== 'linux') this.skip()
    const editor = await openText('killed.detent', bench.replace('3 to 8 cores   48x', '4 to 8 cores   48x'))
    const { document } = editor
    await diagnosticsWith(document.uri, ['steps-gap'])
    const [pid, ...more] = serverProcesses()
    assert.ok(pid !== undefined && more.length === 0, 'one server runs')
    process.kill(pid, 'SIGKILL')
    await eventually('another server', () => serverProcesses().find(other => other !== pid))
    const text = await eventually('a hover from the new server', async () => {
      const shown = await hoverText(document, positionOf(document, 'rig-one\n  cooler'))
      return shown.includes('8 cores') ? shown : undefined
    })
    assert.match(text, /part \*\*rig-one\*\*/)
    // What is typed from now on reaches it.
    const start = positionOf(document, '4 to 8 cores')
    await editor.edit(edit => edit.replace(new vscode.Range(start, start.translate(0, 1)), '3'))
    await diagnosticsWith(document.uri, [])
    assert.equal(serverProcesses().length, 1)
  })

  it('is started again by the command', async function () {
    if (process.platform !== 'linux') this.skip()
    const before = serverProcesses()
    await vscode.commands.executeCommand('detent.restartServer')
    const [after] = await eventually('another server', () => {
      const now = serverProcesses()
      return now.length === 1 && !before.includes(now[0] ?? 0) ? now : undefined
    })
    assert.ok(after)
  })
})
