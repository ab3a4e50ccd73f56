import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { LSPErrorCodes } from 'vscode-languageserver/node'
import { bench } from '../features/bench.ts'
import { startClient, type TestClient } from '../harness/client.ts'
import { metaModel } from '../harness/meta-model/types.ts'

/** Requests that no sound editor sends, each answered, and none of harm to what is asked next. */

const uri = 'memory://bench/bench.detent'
const profile =
  '\nprofile daily {\n  part sample-b7\n  cooler big-loop\n  room garage\n  steps { 1 to 12 cores 50x }\n  expect render die <= 80 °C\n}\n'
const text = `${bench}${profile}`
const textDocument = { uri }
const position = { line: 3, character: 2 }
const range = { start: { line: 2, character: 0 }, end: { line: 9, character: 1 } }
const options = { tabSize: 2, insertSpaces: true }
const files = [{ oldUri: uri, newUri: 'memory://bench/other.detent' }]
const quickFixData = { uri, version: 1, code: 'steps-gap', start: 0, end: 1, index: 0 }

/** What a sound editor sends. */
const sound: Readonly<Record<string, unknown>> = {
  'textDocument/hover': { textDocument, position },
  'textDocument/completion': { textDocument, position },
  'completionItem/resolve': { label: 'cores', data: { kind: 'word', place: 'part', word: 'cores' } },
  'textDocument/definition': { textDocument, position },
  'textDocument/references': { textDocument, position, context: { includeDeclaration: true } },
  'textDocument/documentHighlight': { textDocument, position },
  'textDocument/prepareRename': { textDocument, position },
  'textDocument/rename': { textDocument, position, newName: 'another' },
  'textDocument/documentSymbol': { textDocument },
  'workspace/symbol': { query: 'b' },
  'textDocument/formatting': { textDocument, options },
  'textDocument/rangeFormatting': { textDocument, range, options },
  'textDocument/rangesFormatting': { textDocument, ranges: [range], options },
  'textDocument/codeAction': { textDocument, range, context: { diagnostics: [] } },
  'codeAction/resolve': { title: 'fix', data: quickFixData },
  'textDocument/foldingRange': { textDocument },
  'textDocument/selectionRange': { textDocument, positions: [position] },
  'textDocument/documentLink': { textDocument },
  'textDocument/semanticTokens/full': { textDocument },
  'textDocument/semanticTokens/range': { textDocument, range },
  'textDocument/inlayHint': { textDocument, range },
  'inlayHint/resolve': { label: '4.80 GHz', position, data: { uri, kind: 'clock', key: 'daily 1' } },
  'textDocument/codeLens': { textDocument },
  'textDocument/diagnostic': { textDocument },
  'workspace/diagnostic': { previousResultIds: [], workDoneToken: 'work', partialResultToken: 'parts' },
  'workspace/willRenameFiles': { files },
  'detent/workings': { textDocument, position },
  'detent/runChoices': { uri, position },
  'detent/parts': {},
  'detent/fit': { uri, part: 'sample-b7' },
  'detent/report': { profiles: ['daily'], baseline: 'daily' },
  'detent/runFromLog': { uri, log: 'memory://bench/a.csv', profile: 'daily', load: 'render' },
  'workspace/executeCommand': { command: 'detent.server.lookUpRevisions', arguments: [uri] },
  'detent/lookUpRevisions': { uri },
  'workspace/textDocumentContent': { uri: 'detent-resolved:/daily.detent?profile%3Ddaily%26file%3Dmemory' },
}

const hostile: readonly unknown[] = [
  ...[null, undefined, true, '', 'x', [], {}, -1, 0.5, 2 ** 31, 2 ** 53, -(2 ** 60)],
  ...['\u0000', '\ud800', 'file:///etc/passwd', 'file:///%', 'untitled:Untitled-1', '__proto__', 'constructor'],
  ...[[null], [[]], { line: -1, character: -1 }, { line: 1e9, character: 1e9 }, { start: 5, end: null }],
  { start: { line: 9, character: 9 }, end: { line: 0, character: 0 } },
]

/** Every place within sound parameters, as the keys that lead there. */
function placesIn(value: unknown, way: readonly string[] = []): (readonly string[])[] {
  if (typeof value !== 'object' || value === null) return [way]
  return [way, ...Object.entries(value).flatMap(([key, inner]) => placesIn(inner, [...way, key]))]
}

/** Sound parameters with another value at one place. */
function withAt(value: unknown, way: readonly string[], put: unknown): unknown {
  const [key, ...rest] = way
  if (key === undefined) return put
  const copy: Record<string, unknown> | unknown[] = Array.isArray(value) ? [...value] : { ...(value as object) }
  return Object.assign(copy, { [key]: withAt((value as Record<string, unknown>)[key], rest, put) })
}

let client: TestClient

beforeEach(async () => {
  client = await startClient({ folders: ['memory://bench/'] })
  await client.open(uri, text)
})

afterEach(async () => {
  await client.stop()
})

/** Codes that say plainly why there is no result. */
const plain: readonly number[] = [
  ...[LSPErrorCodes.RequestCancelled, LSPErrorCodes.ContentModified, LSPErrorCodes.RequestFailed],
  // Invalid parameters, which the connection itself refuses as well.
  -32602,
]

async function answered(method: string, params: unknown): Promise<void> {
  try {
    await client.request(method, params)
  } catch (error) {
    const { code, message } = error as { code?: number; message?: string }
    expect(plain, `${method} ${JSON.stringify(params)}: ${message}`).toContain(code)
  }
}

const notices = (): number =>
  client.log.filter(({ message }) => (message as { method?: string }).method === 'window/showMessage').length

describe('every request', () => {
  it('that is advertised has its sound parameters here', async () => {
    const capability = (path: string): unknown =>
      path
        .split('.')
        .reduce<unknown>((value, key) => (value as Record<string, unknown>)?.[key], client.initialized.capabilities)
    const missing = metaModel.requests.flatMap(one => {
      const { method, messageDirection, serverCapability } = one
      if (messageDirection === 'serverToClient' || serverCapability === undefined) return []
      const offered = capability(serverCapability)
      return offered !== undefined && offered !== false && !(method in sound) ? [method] : []
    })
    expect(missing).toEqual([])
  })

  it.each(Object.entries(sound))('%s answers a sound editor', async (method, params) => {
    await expect(client.request(method, params)).resolves.toBeDefined()
    expect(notices()).toBe(0)
  })

  it.each(Object.entries(sound))('%s answers whatever stands in place of a parameter', async (method, params) => {
    for (const way of placesIn(params)) for (const put of hostile) await answered(method, withAt(params, way, put))
    // One notice at the most, and everything else goes on.
    expect(notices()).toBeLessThanOrEqual(1)
    expect(JSON.stringify(await client.request('textDocument/hover', { textDocument, position }))).toContain('12 cores')
  })
})

describe('notifications', () => {
  const told: Readonly<Record<string, unknown>> = {
    'textDocument/didOpen': {
      textDocument: { uri: 'memory://bench/b.detent', languageId: 'detent', version: 1, text },
    },
    'textDocument/didChange': { textDocument: { uri, version: 2 }, contentChanges: [{ range, text: 'x' }] },
    'textDocument/didSave': { textDocument: { uri } },
    'textDocument/didClose': { textDocument: { uri: 'memory://bench/b.detent' } },
    'workspace/didChangeWatchedFiles': { changes: [{ uri: 'memory://bench/c.detent', type: 1 }] },
    'workspace/didChangeConfiguration': { settings: { detent: { checks: { severity: { syntax: 'off' } } } } },
    'workspace/didChangeWorkspaceFolders': { event: { added: [{ uri: 'memory://d/', name: 'd' }], removed: [] } },
  }

  it.each(Object.entries(told))('%s does no harm, whatever stands in it', async (method, params) => {
    for (const way of placesIn(params)) {
      for (const put of hostile) {
        // What is no notification at all the connection refuses by itself.
        await client.notify(method, withAt(params, way, put)).catch(() => undefined)
      }
    }
    await client.close(uri)
    await client.open(uri, text, 99)
    expect(await client.diagnostics(uri)).toBeInstanceOf(Array)
    expect(JSON.stringify(await client.request('textDocument/hover', { textDocument, position }))).toContain('12 cores')
    expect(notices()).toBeLessThanOrEqual(1)
  })
})

it('any mixture of requests is answered', { timeout: 180_000 }, async () => {
  const calls = fc.array(
    fc
      .constantFrom(...Object.entries(sound))
      .chain(([method, params]) =>
        fc.tuple(fc.constant(method), fc.constant(params), fc.constantFrom(...placesIn(params)), fc.jsonValue()),
      ),
    { minLength: 1, maxLength: 20 },
  )
  await fc.assert(
    fc.asyncProperty(calls, async list => {
      await Promise.all(list.map(([method, params, way, put]) => answered(method, withAt(params, way, put))))
      client.log.length = 0
    }),
    { numRuns: 30 },
  )
})
