/** What all handlers of one client share. */

import type { CancellationToken, Connection, Position, TextDocumentIdentifier } from 'vscode-languageserver'
import { LSPErrorCodes, MessageType, ResponseError, ShowMessageNotification } from 'vscode-languageserver'
import type { TextDocument } from 'vscode-languageserver-textdocument'
import type { Span } from '../../grammar/tree.ts'
import type { Service } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { Document } from '../workspace/workspace.ts'
import type { Background } from './background.ts'
import type { Client } from './client.ts'
import type { ClientFiles, Disk } from './files.ts'
import { placeIn } from './folders.ts'
import type { Further } from './further.ts'
import { type Lines, linesOf } from './positions.ts'
import type { Settings } from './settings.ts'
import { heard, type Rank, turn } from './turns.ts'
import type { Typing } from './typing.ts'

/** Takes the arguments as a client gave them. Errors: `NoPaper` with one line for a person. */
type ServerCommand = (args: readonly unknown[], token: CancellationToken) => Promise<string | null>

/** What all handlers share. One session serves one client. */
export interface Session {
  readonly connection: Connection
  readonly service: Service
  readonly files: ClientFiles
  /** What the client can do; set when it introduces itself. */
  client: Client
  /** Open documents by the workspace's spelling of their addresses. */
  readonly open: Map<string, TextDocument>
  /** How the client spells addresses that the workspace spells otherwise. */
  readonly spellings: Map<string, string>
  /** The folders that the client has open, in its own spelling. */
  folders: readonly string[]
  /** Files found in the folders. */
  readonly found: Set<string>
  /** Resolves when the folders have been looked through. */
  scanned: Promise<void>
  settingsOf(uri: string): Promise<Settings>
  /** The file is closed: its settings are asked for again when they are next needed. */
  readonly forgetSettings: (uri: string) => void
  /** Called after a pause in typing with the files whose findings, figures and settings may be others now. */
  readonly changed: Set<(uris: readonly string[]) => void>
  /** Older texts of files, where the server can have them. */
  readonly revisionOf: Disk['revisionOf'] | undefined
  /** Whether a file lies in a git repository; git is not started for that. */
  readonly isInRepository: (uri: string) => boolean
  /** Whether git may be started. */
  isTrusted: boolean
  /** Whether there is a place that logs are read from. */
  readonly readsLogs: () => boolean
  /** Resolves when the client tells of changes of the logs that are named now, where it can. */
  followLogs: () => Promise<void>
  /** Makes the runs over time that findings wait for. */
  readonly background: Background
  /** Where a person types, and what waits for that. */
  readonly typing: Typing
  /** The stretch of an open document that is visible, by what was asked or typed last. */
  readonly seen: Map<string, Span>
  /** Predicts what of long files nobody sees. */
  readonly further: Further
  /** What the server does at a command of a client without commands of its own, by the command's name. */
  readonly commands: Map<string, ServerCommand>
  /** How many tokens the client has been asked for, to report work by. */
  tokens: number
  /** Whether a failure has been shown to the person. */
  troubled: boolean
}

/** A loaded document with the lines of its text. */
export interface Located {
  readonly uri: string
  readonly document: Document
  readonly lines: Lines
}

export function located(session: Session, uri: string): Located | undefined {
  const document = session.service.workspace.document(uri)
  return document === undefined ? undefined : { uri: document.uri, document, lines: linesOf(document.source) }
}

/** The document of a request, read with all that it uses; undefined where there is none. */
export async function loaded(session: Session, { uri }: TextDocumentIdentifier): Promise<Located | undefined> {
  // A file that is not open and that nobody uses is not ours: a client may name any file of the machine.
  const key = normalizeUri(uri)
  if (!session.open.has(key) && !session.found.has(key) && session.service.workspace.document(key) === undefined) {
    return undefined
  }
  await session.service.workspace.load([uri])
  return located(session, uri)
}

/** The address of a document in the client's own spelling. */
export function clientUri(session: Session, uri: string): string {
  const known = session.spellings.get(uri)
  if (known !== undefined) return known
  const place = placeIn(session.folders, uri)
  return place === undefined ? uri : `${place.folder}/${place.path}`
}

export interface PlacedParams {
  readonly textDocument: TextDocumentIdentifier
  readonly position: Position
}

/** Logs a failure; the first one is also shown to the person, once and quietly. */
export function reportTrouble(session: Session, what: string, error: unknown): void {
  const detail = error instanceof Error ? (error.stack ?? error.message) : String(error)
  try {
    session.connection.console.error(`${what}: ${detail}`)
  } catch {
    // The client is gone: nobody is left to tell.
    return
  }
  if (session.troubled) return
  session.troubled = true
  const text = `${what} failed; the output has the details. Everything else still works.`
  if (session.client.showsTrouble) void session.connection.sendNotification('detent/trouble', { text })
  else {
    const message = `Detent: ${text}`
    void session.connection.sendNotification(ShowMessageNotification.type, { type: MessageType.Warning, message })
  }
}

/** Makes a listener that never throws: what goes wrong is reported. */
export function guarded<P>(session: Session, what: string, handle: (params: P) => void): (params: P) => void {
  return params => {
    heard()
    try {
      handle(params)
    } catch (error) {
      reportTrouble(session, what, error)
    }
  }
}

export const cancelled = new ResponseError<never>(LSPErrorCodes.RequestCancelled, 'cancelled')
export const modified = new ResponseError<never>(LSPErrorCodes.ContentModified, 'the document changed meanwhile')

/** Makes a check that throws where the text of a document is another by now: what is made of it nobody wants any more. */
export function newest({ service }: Session, { uri, document }: Located): () => void {
  return () => {
    if (service.workspace.document(uri) !== document) throw modified
  }
}

/** What ends work that a person has asked for, and may no longer want. */
interface Wanted {
  /** Gives it up. */
  readonly leave: () => void
  /** Throws where it is given up or taken back, or where something that the file sees is another by now. */
  readonly check: () => void
}

export function createWanted({ service }: Session, uri: string, token: CancellationToken): Wanted {
  const view = service.workspace.view(uri)
  let isLeft = false
  return {
    leave: () => {
      isLeft = true
    },
    check: () => {
      if (isLeft || token.isCancellationRequested) throw cancelled
      if (service.workspace.view(uri) !== view) throw modified
    },
  }
}

function uriIn(params: unknown): string | undefined {
  const uri = (params as { textDocument?: { uri?: unknown } } | null | undefined)?.textDocument?.uri
  return typeof uri === 'string' ? uri : undefined
}

/**
 * Makes a handler that never fails: what goes wrong is logged and the answer is empty. A request that the client
 * took back is answered as such, and so is one whose document changed while something was waited for.
 * @param rank of work that takes long enough to be overtaken: it waits for its turn; without one the answer is made on arrival
 */
export function answering<P, R>(
  session: Session,
  what: string,
  empty: R,
  handle: (params: P, token: CancellationToken) => R | Promise<R>,
  rank?: Rank,
): (params: P, token: CancellationToken) => Promise<R | ResponseError<never>> {
  return async (params, token) => {
    heard()
    const uri = uriIn(params)
    const versionNow = () => (uri === undefined ? undefined : session.open.get(normalizeUri(uri))?.version)
    const version = versionNow()
    const overtaken = (): ResponseError<never> | undefined => {
      if (token.isCancellationRequested) return cancelled
      return versionNow() === version ? undefined : modified
    }
    try {
      if (rank !== undefined) await turn(rank)
      const before = overtaken()
      if (before !== undefined) return before
      const result = await handle(params, token)
      return overtaken() ?? result
    } catch (error) {
      if (error instanceof ResponseError) return error as ResponseError<never>
      reportTrouble(session, what, error)
      return empty
    }
  }
}

/** As `answering`, about a document; the answer is empty where the document is not there. */
export function answeringFor<P extends { readonly textDocument: TextDocumentIdentifier }, R>(
  session: Session,
  what: string,
  empty: R,
  handle: (file: Located, params: P, token: CancellationToken) => R | Promise<R>,
  rank?: Rank,
): (params: P, token: CancellationToken) => Promise<R | ResponseError<never>> {
  const handleLoaded = async (params: P, token: CancellationToken): Promise<R> => {
    const file = await loaded(session, params.textDocument)
    return file === undefined ? empty : handle(file, params, token)
  }
  return answering(session, what, empty, handleLoaded, rank)
}
