/** The language server, its start and its end. */

import {
  commands,
  FileType,
  type Hover,
  MarkdownString,
  RelativePattern,
  type TextDocument,
  Uri,
  window,
  workspace,
} from 'vscode'
import {
  type BaseLanguageClient,
  CloseAction,
  ErrorAction,
  type ErrorHandler,
  type LanguageClientOptions,
  type Middleware,
  RevealOutputChannelOn,
  State,
} from 'vscode-languageclient'
import { besideCommand } from './beside.ts'
import { closingWhole } from './offered.ts'
import { type Pages, pageLinks } from './pages.ts'
import { whatIfScheme } from './what-if.ts'
import { workingsCommand } from './workings.ts'

/** What the status item shows. */
export type ServerState =
  | { readonly kind: 'starting' }
  | { readonly kind: 'ready' }
  /** Findings wait while a line is typed. */
  | { readonly kind: 'waiting' }
  | { readonly kind: 'trouble'; readonly why: string }
  | { readonly kind: 'stopped'; readonly why: string }

/** How a host starts the language server and speaks with it. */
export type MakeClient = (options: LanguageClientOptions) => BaseLanguageClient

export interface Server {
  readonly client: BaseLanguageClient
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
        log('The language server stopped and is being restarted.')
        return { action: CloseAction.Restart, handled: true }
      }
      stopped(`The language server stopped ${mostEnds} times within ${withinMs / 60_000} minutes.`)
      return { action: CloseAction.DoNotRestart, handled: true }
    },
  }
}

/**
 * Whether findings are of use in a document: in one that can be changed, or that belongs to the folder. The older side of a
 * comparison comes from a place that is only read from.
 */
function isWorkedOn({ uri }: TextDocument): boolean {
  const { scheme } = uri
  // Statements of a field are no file of the language.
  if (scheme === whatIfScheme) return false
  if (scheme === 'file' || scheme === 'untitled') return true
  const folders = workspace.workspaceFolders ?? []
  return folders.some(folder => folder.uri.scheme === scheme) || workspace.fs.isWritableFileSystem(scheme) === true
}

/** A hover may lead to two commands, which show text and charts of the server and change nothing. */
function withWorkings(hover: Hover): Hover {
  for (const content of hover.contents) {
    if (content instanceof MarkdownString) content.isTrusted = { enabledCommands: [workingsCommand, besideCommand] }
  }
  return hover
}

/** Steps of the walkthrough that no command ticks off. */
const done = new Set<string>()

function tickOff(step: 'detent.hasHovered' | 'detent.hasFixed'): void {
  if (done.has(step)) return
  done.add(step)
  void commands.executeCommand('setContext', step, true)
}

/** The server hears of no other documents, and so answers nothing about them. */
const middleware: Middleware = {
  provideCompletionItem: closingWhole(),
  provideHover: async (document, position, token, next) => {
    const found = await next(document, position, token)
    if (found) tickOff('detent.hasHovered')
    return found && withWorkings(found)
  },
  resolveCodeAction: async (action, token, next) => {
    const resolved = await next(action, token)
    if (resolved?.edit !== undefined) tickOff('detent.hasFixed')
    return resolved
  },
  didOpen: async (document, next) => {
    if (isWorkedOn(document)) await next(document)
  },
  didChange: async (event, next) => {
    if (isWorkedOn(event.document)) await next(event)
  },
  didClose: async (document, next) => {
    if (isWorkedOn(document)) await next(document)
  },
}

/** Bytes as text that a message can hold. */
function base64(bytes: Uint8Array): string {
  const pieces: string[] = []
  // In pieces, since a call takes only so many arguments.
  for (let at = 0; at < bytes.length; at += 8192) pieces.push(String.fromCharCode(...bytes.subarray(at, at + 8192)))
  return btoa(pieces.join(''))
}

interface AskedFile {
  readonly uri: string
  /** In bytes; of a larger file only the size is passed on. */
  readonly most?: number
}

/** Files that the server cannot read by itself: those of a virtual workspace, and all where it runs in a worker. */
function answerForFiles(client: BaseLanguageClient): void {
  client.onRequest('detent/readFile', async ({ uri, most }: AskedFile): Promise<unknown> => {
    try {
      const file = Uri.parse(uri, true)
      if (most !== undefined) {
        const { size, type } = await workspace.fs.stat(file)
        if ((type & FileType.File) === 0) return null
        if (size > most) return { size }
      }
      return base64(await workspace.fs.readFile(file))
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

/** @param tell called at every change of the server's state */
export function createServer(makeClient: MakeClient, pages: Pages, tell: (state: ServerState) => void): Server {
  const channel = window.createOutputChannel('Detent', { log: true })
  const errorHandler = createErrorHandler(
    text => channel.warn(text),
    why => tell({ kind: 'stopped', why }),
  )
  const options: LanguageClientOptions = {
    documentSelector: [{ language: 'detent' }],
    outputChannel: channel,
    revealOutputChannelOn: RevealOutputChannelOn.Never,
    initializationOptions: () => ({
      readsFiles: true,
      leavesOutComparisons: true,
      showsTrouble: true,
      showsWaiting: true,
      showsExpectations: true,
      showsResolved: true,
      showsPapers: true,
      showsWorkings: true,
      showsPictures: true,
      looksUpRevisions: true,
      isTrusted: workspace.isTrusted,
      pages: pages.reference.toString(),
    }),
    uriConverters: { code2Protocol: uri => uri.toString(), protocol2Code: pageLinks(pages) },
    middleware,
    errorHandler,
    initializationFailedHandler: error => {
      channel.error(error)
      return false
    },
  }
  const client = makeClient(options)
  answerForFiles(client)
  client.onNotification('detent/trouble', ({ text }: { readonly text: string }) => tell({ kind: 'trouble', why: text }))
  client.onNotification('detent/waiting', ({ waits }: { readonly waits: boolean }) =>
    tell({ kind: waits ? 'waiting' : 'ready' }),
  )
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
