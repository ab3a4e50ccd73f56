/** Work that takes longer than a second is reported while it goes on; whatever is quicker would only flicker. */

import {
  type ProgressToken,
  WorkDoneProgress,
  type WorkDoneProgressBegin,
  WorkDoneProgressCancelNotification,
  WorkDoneProgressCreateRequest,
  type WorkDoneProgressEnd,
  type WorkDoneProgressReport,
} from 'vscode-languageserver'
import type { Session } from './session.ts'

const waitMs = 1000
/** How often it is looked how far the work is. */
const lookMs = 250

/** How far work is: `12 of 120 files`. */
export interface Count {
  readonly done: number
  readonly of: number
  /** In the singular. */
  readonly what: string
}

export interface Work {
  readonly title: string
  /** Undefined as long as it is not known. */
  readonly count: () => Count | undefined
  /** What the client gave with its request to report by; without it the client is asked for one. */
  readonly given?: ProgressToken | undefined
  /** Gives it up; without it nobody can. */
  readonly cancel?: () => void
}

/** What gives up the work that is reported by a token; evicted as the work ends. */
const cancels = new WeakMap<Session, Map<ProgressToken, () => void>>()

/** The protocol's library answers cancelled tokens of its own, and takes the place of who asked before it was initialized. */
function cancelsOf(session: Session): Map<ProgressToken, () => void> {
  const known = cancels.get(session)
  if (known !== undefined) return known
  const made = new Map<ProgressToken, () => void>()
  cancels.set(session, made)
  session.connection.onNotification(WorkDoneProgressCancelNotification.type, ({ token }) => made.get(token)?.())
  return made
}

/** The token in the parameters of a request, whatever a client put there. */
export function tokenIn(value: unknown): ProgressToken | undefined {
  return typeof value === 'string' || Number.isInteger(value) ? (value as ProgressToken) : undefined
}

function messageOf({ count }: Work): string | undefined {
  const now = count()
  return now && `${now.done} of ${now.of} ${now.what}${now.of === 1 ? '' : 's'}`
}

/** A token that the client knows; undefined where it shows no progress. */
async function askedToken(session: Session): Promise<ProgressToken | undefined> {
  const { client, connection } = session
  if (!client.showsProgress) return undefined
  const token = `detent-${++session.tokens}`
  return connection.sendRequest(WorkDoneProgressCreateRequest.type, { token }).then(
    () => token,
    () => undefined,
  )
}

/** Tells of work from now on; what is returned ends that. */
function tell(session: Session, work: Work, token: ProgressToken): () => void {
  const { connection } = session
  const send = (value: WorkDoneProgressBegin | WorkDoneProgressReport | WorkDoneProgressEnd): void => {
    // Where the client is gone nobody is left to tell.
    connection.sendProgress(WorkDoneProgress.type, token, value).catch(() => undefined)
  }
  let told = messageOf(work)
  const { title, cancel } = work
  if (cancel !== undefined) cancelsOf(session).set(token, cancel)
  const cancellable = cancel === undefined ? {} : { cancellable: true }
  send({ kind: 'begin', title, ...cancellable, ...(told === undefined ? {} : { message: told }) })
  const timer = setInterval(() => {
    const message = messageOf(work)
    if (message === told || message === undefined) return
    told = message
    send({ kind: 'report', message })
  }, lookMs)
  return () => {
    clearInterval(timer)
    cancels.get(session)?.delete(token)
    send({ kind: 'end' })
  }
}

/** Does work, and tells the client how far it is once it has taken long; the end is reported however the work ends. */
export async function telling<R>(session: Session, work: Work, run: () => Promise<R>): Promise<R> {
  let end: Promise<(() => void) | undefined> | undefined
  const timer = setTimeout(() => {
    end = Promise.resolve(work.given ?? askedToken(session)).then(token =>
      token === undefined ? undefined : tell(session, work, token),
    )
  }, waitMs)
  try {
    return await run()
  } finally {
    clearTimeout(timer)
    const ended = end?.then(stop => stop?.())
    // What came with a request ends before its answer; the work does not wait until the client gives something else.
    if (work.given !== undefined) await ended
  }
}

/** The same for what our own client asks for and waits for in sight, where only other clients get reports without a token. */
export function tellingOthers<R>(session: Session, work: Work, run: () => Promise<R>): Promise<R> {
  return work.given === undefined && session.client.showsPapers ? run() : telling(session, work, run)
}
