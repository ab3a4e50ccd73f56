import { RelativePattern, Uri, window, workspace } from 'vscode'
import {
  CloseAction,
  ErrorAction,
  type ErrorHandler,
  LanguageClient,
  type LanguageClientOptions,
  RevealOutputChannelOn,
  type ServerOptions,
  State,
  TransportKind,
} from 'vscode-languageclient/node'
import { pageLinks } from './pages.ts'

/** The language server's process, its start and its end. */

/** What the status item shows. */
export type ServerState =
  | { readonly kind: 'starting' }
  | { readonly kind: 'ready' }
  | { readonly kind: 'trouble'; readonly why: string }
  | { readonly kind: 'stopped'; readonly why: string }

export interface Server {
  readonly client: LanguageClient
  start(): Promise<void>
  restart(): Promise<void>
  stop(): Promise<void>
}

/** A server that ends this often within the time is not started again. */
const mostEnds = 4
const withinMs = 3 * 60_000

/** Starts a server again that ended, but not without end. Nothing of it is shown as a message box. */
function createErrorHandler(
  log: (text: string) => void,
  stopped: (why: string) => void,
): ErrorHandler & { reset(): void } {
  let ends: number[] = []
  return {
    reset: () => {
      ends = []
    },
    error: error => {
      log(`The connection to the language server had an error: ${error.message}`)
      return { action: ErrorAction.Continue, handled: true }
    },
    closed: () => {
      const now = Date.now()
      ends = [...ends.filter(time => now - time < withinMs), now]
      if (ends.length < mostEnds) {
        log('The language server ended and is started again.')
        return { action: CloseAction.Restart, handled: true }
      }
      stopped(`The language server ended ${mostEnds} times within ${withinMs / 60_000} minutes.`)
      return { action: CloseAction.DoNotRestart, handled: true }
    },
  }
}

/** Files that the server cannot read by itself: those of a virtual workspace. */
function answerForFiles(client: LanguageClient): void {
  client.onRequest('detent/readFile', async ({ uri }: { readonly uri: string }) => {
    try {
      return Buffer.from(await workspace.fs.readFile(Uri.parse(uri, true))).toString('base64')
    } catch {
      return null
    }
  })
  client.onRequest('detent/findFiles', async ({ uri }: { readonly uri: string }) => {
    const folder = workspace.workspaceFolders?.find(one => one.uri.toString() === Uri.parse(uri).toString())
    if (folder === undefined) return []
    const found = await workspace.findFiles(new RelativePattern(folder, '**/*.detent'), '**/node_modules/**')
    return found.map(one => one.toString())
  })
}

/**
 * @param extension the extension's folder
 * @param tell is told of every change of the server's state
 */
export function createServer(extension: Uri, tell: (state: ServerState) => void): Server {
  const channel = window.createOutputChannel('Detent', { log: true })
  const module = Uri.joinPath(extension, 'dist', 'detent.cjs').fsPath
  const run = { module, args: ['language-server'], transport: TransportKind.stdio } satisfies ServerOptions
  const pages = Uri.joinPath(extension, 'grammar', 'reference', 'checks.md')
  const errorHandler = createErrorHandler(
    text => channel.warn(text),
    why => tell({ kind: 'stopped', why }),
  )
  const options: LanguageClientOptions = {
    documentSelector: [{ language: 'detent' }],
    outputChannel: channel,
    revealOutputChannelOn: RevealOutputChannelOn.Never,
    initializationOptions: { readsFiles: true, showsTrouble: true, pages: pages.toString() },
    uriConverters: { code2Protocol: uri => uri.toString(), protocol2Code: pageLinks(pages) },
    errorHandler,
    initializationFailedHandler: error => {
      channel.error(error)
      return false
    },
  }
  const client = new LanguageClient('detent', 'Detent', { run, debug: run }, options)
  answerForFiles(client)
  client.onNotification('detent/trouble', ({ text }: { readonly text: string }) => tell({ kind: 'trouble', why: text }))
  client.onDidChangeState(({ newState }) => {
    if (newState === State.Starting) tell({ kind: 'starting' })
    if (newState === State.Running) tell({ kind: 'ready' })
  })
  const start = async (): Promise<void> => {
    try {
      await client.start()
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error)
      channel.error(why)
      tell({ kind: 'stopped', why: `The language server did not start: ${why}` })
    }
  }
  return {
    client,
    start,
    restart: async () => {
      errorHandler.reset()
      try {
        if (client.isRunning()) await client.stop()
      } catch (error) {
        channel.warn(`The language server did not stop in time: ${String(error)}`)
      }
      await start()
    },
    stop: async () => {
      if (client.isRunning()) await client.stop()
    },
  }
}
