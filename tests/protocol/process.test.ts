import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { pathToFileURL } from 'node:url'
import { describe, expect, it } from 'vitest'
import { createProtocolConnection, StreamMessageReader, StreamMessageWriter } from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import { modernCapabilities } from '../harness/client.ts'
import { commandSource, temporaryFolder } from '../harness/process.ts'

/** The server as an editor starts it: a process of its own that speaks over standard input and output. */

describe('detent language-server --stdio', () => {
  it('answers, reads files of the disk, and ends as it was asked to', async () => {
    using folder = temporaryFolder({ 'bench.detent': bench })
    const child = spawn(process.execPath, [commandSource, 'language-server', '--stdio'], { stdio: 'pipe' })
    const printed: string[] = []
    child.stderr.on('data', chunk => printed.push(String(chunk)))
    const connection = createProtocolConnection(
      new StreamMessageReader(child.stdout),
      new StreamMessageWriter(child.stdin),
    )
    connection.onRequest('client/registerCapability', () => null)
    connection.onRequest('workspace/configuration', () => [null])
    for (const what of ['diagnostic', 'inlayHint', 'codeLens'])
      connection.onRequest(`workspace/${what}/refresh`, () => null)
    connection.listen()
    const root = pathToFileURL(`${folder.path}/`).href
    const { capabilities } = await connection.sendRequest<{ capabilities: { hoverProvider?: unknown } }>('initialize', {
      processId: process.pid,
      rootUri: root,
      capabilities: modernCapabilities,
      workspaceFolders: [{ uri: root, name: 'bench' }],
    })
    expect(capabilities.hoverProvider).toBe(true)
    await connection.sendNotification('initialized', {})
    const uri = `${root}a.detent`
    const text = 'detent 1\nuse "bench.detent"\nprofile q {\n  part sample-b7\n  cooler nobody\n}\n'
    await connection.sendNotification('textDocument/didOpen', {
      textDocument: { uri, languageId: 'detent', version: 1, text },
    })
    const { items } = await connection.sendRequest<{ items: { code: string; codeDescription?: { href: string } }[] }>(
      'textDocument/diagnostic',
      { textDocument: { uri } },
    )
    const codes = items.map(item => item.code)
    expect(codes).toContain('unknown-name')
    expect(codes).not.toContain('use-missing')
    expect(items[0]?.codeDescription?.href).toMatch(/^file:.*\/grammar\/reference\/checks\.md#[a-z-]+$/)
    await connection.sendRequest('shutdown')
    await connection.sendNotification('exit')
    const [code] = (await once(child, 'exit')) as [number | null]
    expect(code).toBe(0)
    expect(printed.join('')).toBe('')
    connection.dispose()
  })

  it('ends when its input ends', async () => {
    const child = spawn(process.execPath, [commandSource, 'language-server', '--stdio'], { stdio: 'pipe' })
    child.stdin.end()
    const [code] = (await once(child, 'exit')) as [number | null]
    expect(code).toBe(1)
  })
})
