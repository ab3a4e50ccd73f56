/** Requests and notifications that no sound editor sends, in any order. */
import fc from 'fast-check'
import { LSPErrorCodes } from 'vscode-languageserver/node'
import { startClient } from '../harness/client.ts'

const uri = 'memory://wire/a.detent'
const position = fc.record({ line: fc.oneof(fc.nat(80), fc.integer()), character: fc.oneof(fc.nat(60), fc.integer()) })
const textDocument = { uri }
const range = fc.record({ start: position, end: position })
const options = { tabSize: 2, insertSpaces: true }

const placed = ['hover', 'completion', 'definition', 'documentHighlight', 'prepareRename']
const whole = ['documentSymbol', 'foldingRange', 'documentLink', 'semanticTokens/full', 'codeLens', 'diagnostic']

export interface Call {
  readonly method: string
  readonly params: unknown
  readonly is: 'request' | 'notification'
  /** Its parameters are of no kind that is asked for: it may be logged as trouble. */
  readonly isOdd?: true
}

const request = (method: string, params: fc.Arbitrary<unknown>): fc.Arbitrary<Call> =>
  params.map(of => ({ method, params: of, is: 'request' as const }))
const notification = (method: string, params: fc.Arbitrary<unknown>): fc.Arbitrary<Call> =>
  params.map(of => ({ method, params: of, is: 'notification' as const }))

const sound: fc.Arbitrary<Call> = fc.oneof(
  ...placed.map(method =>
    request(
      `textDocument/${method}`,
      position.map(of => ({ textDocument, position: of })),
    ),
  ),
  ...whole.map(method => request(`textDocument/${method}`, fc.constant({ textDocument }))),
  request(
    'textDocument/rename',
    position.map(of => ({ textDocument, position: of, newName: 'another' })),
  ),
  request(
    'textDocument/references',
    position.map(of => ({ textDocument, position: of, context: { includeDeclaration: true } })),
  ),
  request(
    'textDocument/codeAction',
    range.map(of => ({ textDocument, range: of, context: { diagnostics: [] } })),
  ),
  request(
    'textDocument/inlayHint',
    range.map(of => ({ textDocument, range: of })),
  ),
  request(
    'textDocument/rangeFormatting',
    range.map(of => ({ textDocument, range: of, options })),
  ),
  request(
    'textDocument/selectionRange',
    position.map(of => ({ textDocument, positions: [of] })),
  ),
  request(
    'workspace/symbol',
    fc.string().map(query => ({ query })),
  ),
  request('detent/parts', fc.constant({})),
  request(
    'detent/runChoices',
    position.map(of => ({ uri, position: of })),
  ),
  request(
    'detent/report',
    fc.string().map(one => ({ profiles: [one], baseline: one })),
  ),
  request(
    'detent/fit',
    fc.string().map(part => ({ uri, part })),
  ),
  notification(
    'textDocument/didChange',
    fc.tuple(range, fc.string({ maxLength: 8 }), fc.nat(99)).map(([of, text, version]) => ({
      textDocument: { uri, version },
      contentChanges: [{ range: of, text }],
    })),
  ),
  notification(
    'workspace/didChangeWatchedFiles',
    fc.integer().map(type => ({ changes: [{ uri, type }] })),
  ),
)

/** The same calls with anything in place of their parameters. */
const odd: fc.Arbitrary<Call> = fc
  .tuple(sound, fc.jsonValue())
  .map(([call, params]) => ({ ...call, params, isOdd: true }))

export const calls: fc.Arbitrary<readonly Call[]> = fc.array(
  fc.oneof({ weight: 4, arbitrary: sound }, { weight: 1, arbitrary: odd }),
  { minLength: 1, maxLength: 25 },
)

/** Codes that say plainly why there is no result. -32603, an error of the server itself, does not count. */
const plain: readonly number[] = [
  ...[LSPErrorCodes.RequestCancelled, LSPErrorCodes.ContentModified, LSPErrorCodes.RequestFailed],
  ...[-32602, -32600],
]

export async function answersAll(text: string, list: readonly Call[]): Promise<void> {
  const client = await startClient({ folders: ['memory://wire/'] })
  try {
    await client.open(uri, text)
    const answers = list.map(async ({ method, params, is }) => {
      if (is === 'notification') return client.notify(method, params).catch(() => undefined)
      return client.request(method, params).catch((error: { code?: number; message?: string }) => {
        if (!plain.includes(error.code ?? 0)) throw new Error(`${method}: ${error.code} ${error.message}`)
      })
    })
    await Promise.all(answers)
    const trouble = client.log.find(({ message }) => (message as { method?: string }).method === 'window/logMessage')
    if (trouble !== undefined && !list.some(({ isOdd }) => isOdd))
      throw new Error(JSON.stringify(trouble.message).slice(0, 1500))
    if ((await client.request('workspace/symbol', { query: '' })) === undefined) throw new Error('it does not go on')
  } finally {
    await client.stop()
  }
}
