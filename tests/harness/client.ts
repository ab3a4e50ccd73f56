/** An editor in the test's own process: the real server behind a real connection, every message logged. */
import { PassThrough } from 'node:stream'
import {
  type ClientCapabilities,
  createConnection,
  createProtocolConnection,
  type DataCallback,
  type Diagnostic,
  type Disposable,
  type InitializeResult,
  type MessageReader,
  type ProtocolConnection,
  type PublishDiagnosticsParams,
  StreamMessageReader,
  StreamMessageWriter,
} from 'vscode-languageserver/node'
import { createDisk } from '../../server/lsp/disk.ts'
import type { Disk } from '../../server/lsp/files.ts'
import { inOrder } from '../../server/lsp/order.ts'
import { serve } from '../../server/lsp/server.ts'
import { metaModel } from './meta-model/types.ts'
import { checkMessages, createValidator, type LoggedMessage } from './meta-model/validator.ts'

export const modernCapabilities: ClientCapabilities = {
  general: { positionEncodings: ['utf-16'] },
  workspace: {
    configuration: true,
    workspaceFolders: true,
    didChangeConfiguration: { dynamicRegistration: true },
    didChangeWatchedFiles: { dynamicRegistration: true },
    diagnostics: { refreshSupport: true },
    workspaceEdit: { documentChanges: true },
    fileOperations: { willRename: true },
    inlayHint: { refreshSupport: true },
    codeLens: { refreshSupport: true },
    textDocumentContent: {},
    symbol: {},
  },
  textDocument: {
    synchronization: { didSave: true },
    diagnostic: {
      relatedDocumentSupport: true,
      relatedInformation: true,
      tagSupport: { valueSet: [1, 2] },
      codeDescriptionSupport: true,
    },
    hover: { contentFormat: ['markdown', 'plaintext'] },
    completion: {
      completionItem: {
        snippetSupport: true,
        documentationFormat: ['markdown', 'plaintext'],
        resolveSupport: { properties: ['documentation'] },
      },
    },
    codeAction: {
      codeActionLiteralSupport: { codeActionKind: { valueSet: ['quickfix'] } },
      dataSupport: true,
      isPreferredSupport: true,
      resolveSupport: { properties: ['edit'] },
    },
    documentSymbol: { hierarchicalDocumentSymbolSupport: true },
    formatting: {},
    rangeFormatting: { rangesSupport: true },
    foldingRange: { lineFoldingOnly: true },
    definition: { linkSupport: true },
    references: {},
    documentHighlight: {},
    rename: { prepareSupport: true },
    selectionRange: {},
    documentLink: {},
    codeLens: {},
    inlayHint: { resolveSupport: { properties: ['tooltip'] } },
    semanticTokens: {
      requests: { full: true, range: true },
      tokenTypes: ['keyword', 'enumMember', 'class', 'type'],
      tokenModifiers: ['declaration'],
      formats: ['relative'],
    },
  },
}

/** A client that shows edits before they are made. */
export const previews: ClientOptions = {
  capabilities: {
    ...modernCapabilities,
    workspace: {
      ...modernCapabilities.workspace,
      workspaceEdit: { documentChanges: true, changeAnnotationSupport: { groupsOnLabel: false } },
    },
  },
}

/** What an editor of some years ago says: findings are sent to it, nothing is resolved, edits have no versions. */
export const oldCapabilities: ClientCapabilities = {
  textDocument: {
    synchronization: { didSave: true },
    publishDiagnostics: { relatedInformation: true },
    hover: { contentFormat: ['plaintext'] },
    completion: { completionItem: {} },
    codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: ['quickfix'] } } },
    documentSymbol: {},
  },
}

export interface ClientOptions {
  readonly capabilities?: ClientCapabilities
  /** Files that the client reads for the server, by address; give them a scheme that is not `file:`. */
  readonly files?: Record<string, string>
  readonly folders?: readonly string[]
  /** The section `detent` of the settings, by the scope that is asked for. */
  settings?: (scope: string | undefined) => unknown
  /** What the client waits for before it reads a file for the server. */
  readonly beforeReading?: (uri: string) => Promise<void>
  readonly initializationOptions?: Readonly<Record<string, unknown>>
  /** Takes the place of git. */
  readonly revisionOf?: Disk['revisionOf']
}

export interface TestClient {
  readonly connection: ProtocolConnection
  readonly initialized: InitializeResult
  readonly log: LoggedMessage[]
  /** The findings last sent for an address. */
  readonly published: Map<string, PublishDiagnosticsParams>
  /** How often the server has asked to be asked again. */
  refreshes(): number
  /** The documents that the server has asked to read again. */
  readonly reread: string[]
  open(uri: string, text: string, version?: number): Promise<void>
  change(uri: string, version: number, changes: readonly unknown[]): Promise<void>
  close(uri: string): Promise<void>
  request<R>(method: string, params?: unknown): Promise<R>
  notify(method: string, params?: unknown): Promise<void>
  diagnostics(uri: string): Promise<readonly Diagnostic[]>
  /** Ends the connection and gives what was wrong with its messages; undefined where the meta model is not there. */
  stop(): Promise<readonly string[] | undefined>
}

/** A reader that notes every message before it passes it on. */
function noting(reader: MessageReader, from: LoggedMessage['from'], log: LoggedMessage[]): MessageReader {
  return {
    onError: reader.onError,
    onClose: reader.onClose,
    onPartialMessage: reader.onPartialMessage,
    dispose: () => reader.dispose(),
    listen: (callback: DataCallback): Disposable =>
      reader.listen(message => {
        log.push({ from, message: JSON.parse(JSON.stringify(message)) })
        callback(message)
      }),
  }
}

const validator = createValidator(metaModel)

export async function startClient(options: ClientOptions = {}): Promise<TestClient> {
  const log: LoggedMessage[] = []
  const up = new PassThrough()
  const down = new PassThrough()
  const writer = new StreamMessageWriter(down)
  const server = createConnection(inOrder(noting(new StreamMessageReader(up), 'client', log), writer), writer)
  const { revisionOf } = options
  serve(server, {
    version: '0',
    disk: open => ({ ...createDisk(open), ...(revisionOf && { revisionOf }) }),
    pages: 'file:///reference/checks.md',
  })
  server.listen()

  const connection = createProtocolConnection(
    noting(new StreamMessageReader(down), 'server', log),
    new StreamMessageWriter(up),
    console,
  )
  const published = new Map<string, PublishDiagnosticsParams>()
  let refreshes = 0
  connection.onNotification('textDocument/publishDiagnostics', (params: PublishDiagnosticsParams) => {
    published.set(params.uri, params)
  })
  connection.onRequest('workspace/diagnostic/refresh', () => {
    refreshes++
    return null
  })
  connection.onRequest('workspace/inlayHint/refresh', () => null)
  connection.onRequest('workspace/codeLens/refresh', () => null)
  const reread: string[] = []
  connection.onRequest('workspace/textDocumentContent/refresh', ({ uri }: { uri: string }) => {
    reread.push(uri)
    return null
  })
  connection.onRequest('client/registerCapability', () => null)
  connection.onRequest('client/unregisterCapability', () => null)
  connection.onRequest('window/workDoneProgress/create', () => null)
  connection.onRequest('workspace/configuration', ({ items }: { items: { scopeUri?: string }[] }) =>
    Promise.all(items.map(async ({ scopeUri }) => (await options.settings?.(scopeUri)) ?? null)),
  )
  const { files } = options
  connection.onRequest('detent/readFile', async ({ uri, most }: { uri: string; most?: number }): Promise<unknown> => {
    await options.beforeReading?.(uri)
    const text = files?.[uri]
    if (text !== undefined && text.length > (most ?? Number.POSITIVE_INFINITY)) return { size: text.length }
    return text === undefined ? null : Buffer.from(text).toString('base64')
  })
  connection.onRequest('detent/findFiles', ({ uri }: { uri: string }) =>
    Object.keys(files ?? {}).filter(one => one.startsWith(uri) && one.endsWith('.detent')),
  )
  connection.listen()
  const initialized = await connection.sendRequest<InitializeResult>('initialize', {
    processId: null,
    rootUri: null,
    capabilities: options.capabilities ?? modernCapabilities,
    workspaceFolders: options.folders?.map(uri => ({ uri, name: uri })) ?? null,
    initializationOptions: { ...(files === undefined ? {} : { readsFiles: true }), ...options.initializationOptions },
  })
  await connection.sendNotification('initialized', {})
  const request = <R>(method: string, params?: unknown): Promise<R> => connection.sendRequest<R>(method, params)
  const notify = (method: string, params?: unknown): Promise<void> => connection.sendNotification(method, params)
  return {
    connection,
    initialized,
    log,
    published,
    refreshes: () => refreshes,
    reread,
    open: (uri, text, version = 1) =>
      notify('textDocument/didOpen', { textDocument: { uri, languageId: 'detent', version, text } }),
    change: (uri, version, contentChanges) =>
      notify('textDocument/didChange', { textDocument: { uri, version }, contentChanges }),
    close: uri => notify('textDocument/didClose', { textDocument: { uri } }),
    request,
    notify,
    diagnostics: async uri =>
      (await request<{ items?: readonly Diagnostic[] }>('textDocument/diagnostic', { textDocument: { uri } })).items ??
      [],
    stop: async () => {
      await connection.sendRequest('shutdown')
      connection.dispose()
      server.dispose()
      return checkMessages(validator, log)
    },
  }
}

/** Asks again and again until `read` gives something, for what arrives by itself; at most five seconds. */
export async function eventually<T>(what: string, read: () => T | undefined): Promise<T> {
  const end = Date.now() + 5_000
  while (Date.now() < end) {
    const value = read()
    if (value !== undefined) return value
    await new Promise(resolve => setTimeout(resolve, 10))
  }
  throw new Error(`${what} did not come`)
}
