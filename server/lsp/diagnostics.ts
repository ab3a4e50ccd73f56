/** Findings for the client: asked for where the client asks, sent otherwise, never both. */

import {
  type CancellationToken,
  CodeLensRefreshRequest,
  type Diagnostic,
  DocumentDiagnosticReportKind,
  type FullDocumentDiagnosticReport,
  type UnchangedDocumentDiagnosticReport,
  type WorkspaceDiagnosticParams,
  type WorkspaceDiagnosticReport,
  WorkspaceDiagnosticRequest,
  type WorkspaceDocumentDiagnosticReport,
} from 'vscode-languageserver'
import type { ChunkFindings, PlacedFinding } from '../checks/run.ts'
import { findingKeys, findingsWhileTyping, isUnfinished, placedFindings } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { FileView } from '../workspace/workspace.ts'
import { noticeOf, prepareInSlices, seenIn } from './extent.ts'
import type { Feature } from './feature.ts'
import { isWorkedOn } from './folders.ts'
import { type Count, telling, tokenIn } from './progress.ts'
import { answering, clientUri, loaded, type Session } from './session.ts'
import type { Settings } from './settings.ts'
import { type Told, toldOf } from './told.ts'
import { createSlices, type Slices } from './turns.ts'
import { settledFindings } from './typing.ts'

interface Known {
  readonly told: Told
  readonly settings: Settings
  readonly usedByOthers: boolean
  /** The file's runs, and what runs say against the parts that it sees. */
  readonly shown: readonly unknown[]
  readonly findings: readonly ChunkFindings[]
  /** Says that findings are still to come. */
  readonly notice: Diagnostic | undefined
}

/** Evicted with the view, so with any change of what the file sees. */
const known = new WeakMap<FileView, Known>()

function allOf(session: Session, view: FileView, settings: Settings): Known {
  const { uri } = view.document
  const usedByOthers = session.service.workspace.usersOf(uri).length > 0
  const before = known.get(view)
  const { bench } = session.service
  const shown = [...bench.compared(uri), ...view.scope.all('part').map(part => bench.evidence(part))]
  const same = before?.shown.length === shown.length && before.shown.every((one, index) => one === shown[index])
  if (same && before.settings === settings && before.usedByOthers === usedByOthers) return before
  // Asked before the findings: while they are put together, another profile may be predicted, whose own are not among them.
  const notice = noticeOf(view)
  const findings = session.service.findingsByChunk(uri, settings.severities)
  const made = { settings, usedByOthers, shown, findings, notice, told: toldOf(session, view, notice, findings) }
  // What waits for a run over time is found again once the run is made, and so is what waits for profiles further away.
  if (session.service.runs.pending() === 0 && notice === undefined) known.set(view, made)
  else if (notice !== undefined) session.further.wake(view.document.uri)
  else session.background.wake()
  return made
}

/** What is sent of a file now: all that is found, but for what waits while a line is being typed. */
function diagnosticsOf(session: Session, view: FileView, settings: Settings): Told {
  const all = allOf(session, view, settings)
  const { document } = view
  const typed = session.typing.in(view)
  const { service } = session
  const placed = placedFindings(all.findings)
  if (typed === undefined) {
    settledFindings.keep(document, findingKeys(placed))
    return all.told
  }
  const own = typed.document === document ? placed : service.findings(typed.document.uri, settings.severities)
  const unfinished = isUnfinished(typed, own)
  const settled = settledFindings.of(document)
  const shown = findingsWhileTyping(view, placed, typed, unfinished, settled)
  if (!unfinished) settledFindings.keep(document, findingKeys(shown))
  if (shown.length === placed.length) return all.told
  session.typing.waits(document.uri)
  return toldOf(session, view, all.notice, onlyShown(all.findings, shown))
}

/** Without the findings that wait; of chunks where none does the list is the very same. */
function onlyShown(found: readonly ChunkFindings[], shown: readonly PlacedFinding[]): readonly ChunkFindings[] {
  const left = new Set(shown.map(({ finding }) => finding))
  return found.map(one => {
    const findings = one.findings.filter(finding => left.has(finding))
    return findings.length === one.findings.length ? one : { ...one, findings }
  })
}

const nothing: FullDocumentDiagnosticReport = { kind: DocumentDiagnosticReportKind.Full, items: [] }

async function report(
  session: Session,
  uri: string,
  previous: string | undefined,
  slices: Slices,
  token: CancellationToken,
): Promise<FullDocumentDiagnosticReport | UnchangedDocumentDiagnosticReport> {
  if (!isWorkedOn(session, uri)) return nothing
  // Settings first: the view must be that of the newest text.
  const settings = await session.settingsOf(uri)
  await prepareInSlices(session.service, uri, slices, () => token.isCancellationRequested, seenIn(session, uri))
  if (token.isCancellationRequested) return nothing
  const view = session.service.workspace.view(uri)
  if (view === undefined) return nothing
  const { items, id } = diagnosticsOf(session, view, settings)
  return id === previous
    ? { kind: DocumentDiagnosticReportKind.Unchanged, resultId: id }
    : { kind: DocumentDiagnosticReportKind.Full, resultId: id, items: items() }
}

/** How many files are sent at a time to a client that takes them in parts. */
const filesOfPart = 50

/**
 * Reports on all files of the folders, in parts where the client gave a token for that.
 * @param answered files that the client asked for each by itself, but those that were free of findings. A client that closes
 * such a file keeps them, and does not name it among those that it has results for: one that is gone is reported once more,
 * as empty.
 */
async function checkedFolders(
  session: Session,
  answered: Set<string>,
  { previousResultIds, workDoneToken, partialResultToken }: WorkspaceDiagnosticParams,
  token: CancellationToken,
): Promise<WorkspaceDiagnosticReport> {
  await session.scanned
  const before = new Map(previousResultIds.map(({ uri, value }) => [normalizeUri(uri), value]))
  const gone = [...answered].filter(uri => !session.open.has(uri) && !session.found.has(uri))
  const uris = [...new Set([...session.found, ...before.keys(), ...gone])]
  const parts = tokenIn(partialResultToken)
  let items: WorkspaceDocumentDiagnosticReport[] = []
  let done = 0
  const sendPart = async (): Promise<void> => {
    if (parts === undefined || items.length === 0) return
    const part = { items }
    items = []
    await session.connection.sendProgress(WorkspaceDiagnosticRequest.partialResult, parts, part)
  }
  const count = (): Count => ({ done, of: uris.length, what: 'file' })
  const work = { title: 'Checking the folders', count, given: tokenIn(workDoneToken) }
  return telling(session, work, async () => {
    const slices = createSlices('folders')
    for (const uri of uris) {
      if (token.isCancellationRequested) break
      await slices.rest()
      const one = await report(session, uri, before.get(uri), slices, token)
      // What was given up in the middle says nothing about the file: the client would take it for free of findings.
      if (token.isCancellationRequested) break
      items.push({ ...one, uri: clientUri(session, uri), version: session.open.get(uri)?.version ?? null })
      done++
      if (items.length >= filesOfPart) await sendPart()
    }
    await sendPart()
    // An answer that the client took back reaches nobody.
    if (!token.isCancellationRequested) for (const uri of gone) if (!session.open.has(uri)) answered.delete(uri)
    return { items }
  })
}

export const pulledDiagnostics: Feature = {
  advertise: client =>
    client.pullsDiagnostics
      ? {
          diagnosticProvider: {
            identifier: 'detent',
            interFileDependencies: true,
            workspaceDiagnostics: true,
            workDoneProgress: true,
          },
        }
      : undefined,
  register: session => {
    const { connection } = session
    const answered = new Set<string>()
    connection.languages.diagnostics.on(
      answering(
        session,
        'Checking',
        nothing,
        async ({ textDocument, previousResultId }, token) => {
          await session.scanned
          const file = await loaded(session, textDocument)
          if (file === undefined) return nothing
          const one = await report(session, file.uri, previousResultId, createSlices('findings'), token)
          // What is unchanged may be nothing: reported once more as empty it does no harm.
          const isEmpty = one.kind === DocumentDiagnosticReportKind.Full && one.items.length === 0
          if (!isEmpty) answered.add(file.uri)
          return one
        },
        'findings',
      ),
    )
    // As the protocol has it: what the library hands on does not say whether the client gave tokens.
    connection.onRequest(
      WorkspaceDiagnosticRequest.type,
      answering(
        session,
        'Checking the folder',
        { items: [] },
        (params, token) => checkedFolders(session, answered, params, token),
        'folders',
      ),
    )
  },
}

/** A person's pause, after which findings are sent or asked for again. */
const pauseMs = 120

export interface Publisher {
  /** Tells that these files may have other findings now; `origin` is the one whose text changed. */
  changed(uris: Iterable<string>, origin: string | undefined): void
  /** The file is closed: what was sent for it is taken back. */
  closed(uri: string): void
  /** Nothing more is sent. */
  stop(): void
}

/** Sends findings to clients that do not ask, and tells those that ask when other files than the edited one changed. */
export function createPublisher(session: Session): Publisher {
  const waiting = new Set<string>()
  const changed = new Set<string>()
  const sent = new Map<string, string>()
  let timer: NodeJS.Timeout | undefined
  let stopped = false

  const takeBack = (uri: string): void => {
    if (sent.delete(uri)) void session.connection.sendDiagnostics({ uri: clientUri(session, uri), diagnostics: [] })
  }

  const publish = async (uri: string): Promise<void> => {
    // Its folder may have been closed.
    if (!isWorkedOn(session, uri)) return takeBack(uri)
    await session.scanned
    await session.service.workspace.load([uri])
    const settings = await session.settingsOf(uri)
    const isStale = (): boolean => stopped || !session.open.has(uri)
    await prepareInSlices(session.service, uri, createSlices('findings'), isStale, seenIn(session, uri))
    const view = session.service.workspace.view(uri)
    const open = session.open.get(uri)
    if (view === undefined || open === undefined || stopped) return
    const { items, id } = diagnosticsOf(session, view, settings)
    if (sent.get(uri) === id) return
    sent.set(uri, id)
    const version = session.client.takesVersion ? { version: open.version } : {}
    await session.connection.sendDiagnostics({ uri: clientUri(session, uri), diagnostics: items(), ...version })
  }

  const flush = (): void => {
    timer = undefined
    const uris = [...waiting]
    waiting.clear()
    const touched = [...changed]
    changed.clear()
    for (const tell of session.changed) tell(touched)
    if (uris.length === 0) return
    if (!session.client.pullsDiagnostics) for (const uri of uris) if (session.open.has(uri)) void publish(uri)
    const { client, connection } = session
    const refreshed = [
      client.pullsDiagnostics && client.refreshesDiagnostics ? connection.languages.diagnostics.refresh() : undefined,
      client.refreshesInlayHints ? connection.languages.inlayHint.refresh() : undefined,
      client.refreshesCodeLenses ? connection.sendRequest(CodeLensRefreshRequest.type) : undefined,
    ]
    for (const answer of refreshed) answer?.catch(() => undefined)
  }

  return {
    changed: (uris, origin) => {
      for (const uri of uris) {
        if (session.changed.size > 0) changed.add(uri)
        // A client that asks asks again by itself for what was edited.
        if (!(session.client.pullsDiagnostics && uri === origin)) waiting.add(uri)
      }
      if ((waiting.size === 0 && changed.size === 0) || stopped) return
      // Every further change waits for the next pause.
      clearTimeout(timer)
      timer = setTimeout(flush, pauseMs)
    },
    closed: uri => {
      waiting.delete(uri)
      takeBack(uri)
    },
    stop: () => {
      stopped = true
      clearTimeout(timer)
    },
  }
}
