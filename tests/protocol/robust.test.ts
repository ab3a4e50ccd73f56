import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { afterEach, describe, expect, it } from 'vitest'
import {
  CancellationTokenSource,
  LSPErrorCodes,
  type SemanticTokensClientCapabilities,
} from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import { type ClientOptions, oldCapabilities, startClient, type TestClient } from '../harness/client.ts'
import { metaModel } from '../harness/meta-model/types.ts'

const uri = 'memory://bench/bench.detent'

let client: TestClient | undefined

async function start(options: ClientOptions = {}): Promise<TestClient> {
  client = await startClient({ folders: ['memory://bench/'], ...options })
  return client
}

afterEach(async () => {
  await client?.stop()
  client = undefined
})

const positional = ['textDocument/hover', 'textDocument/completion']
const whole = ['textDocument/documentSymbol', 'textDocument/foldingRange', 'textDocument/formatting']

describe('hostile requests', () => {
  const positions = [
    { line: 1e9, character: 0 },
    { line: 0, character: 2 ** 31 - 1 },
    { line: -5, character: -1 },
    { line: 0.5, character: Number.NaN },
  ]

  it.each(positional)('%s answers places outside the text', async method => {
    const { open, request } = await start()
    await open(uri, bench)
    for (const position of positions) {
      await expect(request(method, { textDocument: { uri }, position })).resolves.not.toThrow()
    }
  })

  it.each([...positional, ...whole])('%s answers for documents that it does not know', async method => {
    const { request } = await start()
    for (const unknown of [
      uri,
      'untitled:Untitled-1',
      'file:///nowhere/at/all.detent',
      'file:///%',
      'not an address',
    ]) {
      const answer = await request(method, {
        textDocument: { uri: unknown },
        position: { line: 0, character: 0 },
        options: {},
      })
      expect(answer).toBeNull()
    }
  })

  it('starts for a client that says nothing of the colours that it asks for', async () => {
    const semanticTokens = {} as SemanticTokensClientCapabilities
    const { initialized } = await start({ capabilities: { textDocument: { semanticTokens } } })
    expect(initialized.capabilities.semanticTokensProvider).toMatchObject({ full: true })
  })

  it('answers malformed parameters with nothing, and goes on', async () => {
    const { open, request, notify, diagnostics, log } = await start()
    await open(uri, bench)
    for (const method of [...positional, ...whole]) {
      expect(await request(method, { textDocument: null })).toBeNull()
      expect(await request(method, {})).toBeNull()
    }
    await notify('textDocument/didChange', { textDocument: { uri, version: 2 }, contentChanges: null })
    await notify('textDocument/didOpen', {})
    await notify('textDocument/didClose', { textDocument: { uri: 'memory://bench/never-open.detent' } })
    expect(await diagnostics(uri)).toBeInstanceOf(Array)
    const shown = log.filter(({ message }) => (message as { method?: string }).method === 'window/showMessage')
    expect(shown).toHaveLength(1)
  })

  it('answers a change of a document that was never opened', async () => {
    const { change, diagnostics } = await start()
    await change(uri, 2, [{ text: 'detent 1\n' }])
    expect(await diagnostics(uri)).toEqual([])
  })

  it('does not read any file that a client names', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'detent-secret-'))
    const path = join(folder, 'secret.txt')
    writeFileSync(path, 'detent 1\nroom r {\n')
    try {
      const { diagnostics } = await start()
      expect(await diagnostics(pathToFileURL(path).href)).toEqual([])
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
})

describe('a request that is taken back', () => {
  it('is answered as cancelled', async () => {
    const { connection, open } = await start()
    await open(uri, bench)
    const source = new CancellationTokenSource()
    const asked = connection.sendRequest('textDocument/diagnostic', { textDocument: { uri } }, source.token)
    source.cancel()
    await expect(asked).rejects.toMatchObject({ code: LSPErrorCodes.RequestCancelled })
  })
})

describe('capabilities and handlers', () => {
  const notFound = -32601

  it.each([
    ['a new editor', {}],
    ['an old editor', { capabilities: oldCapabilities }],
  ] as [string, ClientOptions][])('agree for %s', async (_name, options) => {
    const { request, initialized } = await start(options)
    const capability = (path: string): unknown =>
      path
        .split('.')
        .reduce<unknown>(
          (value, key) => (value as Record<string, unknown> | undefined)?.[key],
          initialized.capabilities,
        )
    const disagreeing: string[] = []
    for (const { method, messageDirection, serverCapability } of metaModel.requests) {
      if (messageDirection === 'serverToClient' || serverCapability === undefined) continue
      const handled = await request(method, {}).then(
        () => true,
        (error: { code?: number }) => error.code !== notFound,
      )
      const advertised = capability(serverCapability)
      if (handled !== (advertised !== undefined && advertised !== false))
        disagreeing.push(`${method}: handled ${handled}`)
    }
    expect(disagreeing).toEqual([])
  })
})

describe('many files', () => {
  it('opened and closed leave nothing behind', async () => {
    const { open, close, diagnostics, log } = await start()
    setFlagsFromString('--expose-gc')
    const collect = runInNewContext('gc') as () => void
    const round = async (): Promise<number> => {
      for (let index = 0; index < 200; index++) {
        const one = `memory://many/file-${index}.detent`
        await open(one, `${bench}load extra-${index} { cores 1 }\n`)
        await diagnostics(one)
        await close(one)
      }
      log.length = 0
      collect()
      return process.memoryUsage().heapUsed
    }
    await round()
    const before = await round()
    const after = await round()
    // A kept document would cost some 20 kB a file, 4 MB a round.
    expect(after - before).toBeLessThan(1_500_000)
    expect(await diagnostics('memory://many/file-7.detent')).toEqual([])
  })
})
