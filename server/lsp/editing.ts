/** What changes a person's text: formatting and quick fixes. */

import {
  type CancellationToken,
  type CodeAction,
  CodeActionKind,
  type CreateFile,
  MessageType,
  type Range,
  ShowMessageNotification,
  type TextDocumentEdit,
  type TextEdit,
  type WorkspaceEdit,
} from 'vscode-languageserver'
import type { Span } from '../../grammar/tree.ts'
import type { FileEdits } from '../features/actions.ts'
import { fitWords, partsAt, partsOf } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import { courseActions } from './courses.ts'
import { prepareInSlices, seenIn } from './extent.ts'
import type { Feature } from './feature.ts'
import { isWorkedOn } from './folders.ts'
import { fitInTurns } from './log-reading.ts'
import { telling } from './progress.ts'
import { type ProposeData, proposeActions, registerPropose, resolvedProposal } from './propose.ts'
import { type ReachData, reachActions, reachKind, registerReach, resolvedReach } from './reach.ts'
import { answering, clientUri, type Located, loaded, located, newest, type Session } from './session.ts'
import { showKind, smallChangeActions } from './small-changes.ts'
import { createSlices } from './turns.ts'

/**
 * The lines that a range is on, from the start of the first to the end of the last. An editor that selects a line whole
 * ends the range at the start of the next one, which is then none of them.
 */
function linesIn({ lines }: Located, range: Range): Span {
  const { start, end } = lines.span(range)
  const last = lines.position(end)
  const behind = last.character === 0 && end > start ? last.line : last.line + 1
  return {
    start: lines.offset({ line: lines.position(start).line, character: 0 }),
    end: lines.offset({ line: behind, character: 0 }),
  }
}

/** The smallest edits that format an open document, or those of them that are on the lines of one of the ranges. */
function formatEdits(session: Session, uri: string, ranges: readonly Range[] | undefined): TextEdit[] | null {
  // Formatting waits for nothing: it answers from the text as it is at this moment, so no edit can be for another.
  const file = located(session, uri)
  if (file === undefined) return null
  const spans = ranges?.map(range => linesIn(file, range))
  return session.service
    .formatting(file.uri)
    .filter(edit => {
      const isIn = ({ start, end }: Span): boolean => edit.start < end && (edit.start >= start || edit.end > start)
      return spans === undefined || spans.some(isIn)
    })
    .map(({ start, end, text }) => ({ range: file.lines.range({ start, end }), newText: text }))
}

export const formatting: Feature = {
  advertise: () => ({
    documentFormattingProvider: true,
    documentRangeFormattingProvider: { rangesSupport: true },
  }),
  register: session => {
    const { connection } = session
    connection.onDocumentFormatting(
      answering(session, 'Formatting', null, ({ textDocument }) => formatEdits(session, textDocument.uri, undefined)),
    )
    connection.onDocumentRangeFormatting(
      answering(session, 'Formatting', null, ({ textDocument, range }) =>
        formatEdits(session, textDocument.uri, [range]),
      ),
    )
    connection.onDocumentRangesFormatting(
      answering(session, 'Formatting', null, ({ textDocument, ranges }) =>
        formatEdits(session, textDocument.uri, ranges),
      ),
    )
  },
}

/** Edits as the client takes them: for the versions that they were made for, where it can tell versions apart. */
export function workspaceEdit(
  session: Session,
  files: readonly (FileEdits & { readonly isNew?: boolean })[],
): WorkspaceEdit {
  // Only a client that makes files is given one.
  const created = files.flatMap(({ uri, edits, isNew }): (CreateFile | TextDocumentEdit)[] => {
    if (isNew !== true) return []
    const address = clientUri(session, uri)
    const start = { line: 0, character: 0 }
    const list = edits.map(({ text }) => ({ range: { start, end: start }, newText: text }))
    return [
      { kind: 'create', uri: address, options: { overwrite: false, ignoreIfExists: false } },
      { textDocument: { uri: address, version: null }, edits: list },
    ]
  })
  const converted = files.flatMap(({ uri, edits, isNew }) => {
    if (isNew === true) return []
    const file = located(session, uri)
    if (file === undefined) return []
    const list = edits.map(({ start, end, text }) => ({ range: file.lines.range({ start, end }), newText: text }))
    return [{ uri: clientUri(session, file.uri), version: session.open.get(file.uri)?.version ?? null, edits: list }]
  })
  if (session.client.takesDocumentChanges) {
    const changed = converted.map(({ uri, version, edits }) => ({ textDocument: { uri, version }, edits }))
    return { documentChanges: [...created, ...changed] }
  }
  return { changes: Object.fromEntries(converted.map(({ uri, edits }) => [uri, edits])) }
}

/** What a quick fix is found again by. */
interface FixData {
  readonly uri: string
  readonly version: number | null
  readonly code: string
  readonly start: number
  readonly end: number
  readonly index: number
}

function versionOf(session: Session, uri: string): number | null {
  return session.open.get(normalizeUri(uri))?.version ?? null
}

async function editOf(session: Session, data: FixData): Promise<WorkspaceEdit | undefined> {
  const { severities } = await session.settingsOf(data.uri)
  if (versionOf(session, data.uri) !== data.version) return undefined
  const { features } = session.service
  const fix = features
    .quickFixes(data.uri, data.start, data.end, severities)
    .find(
      ({ finding, index }) =>
        finding.finding.code === data.code &&
        finding.start === data.start &&
        finding.end === data.end &&
        index === data.index,
    )
  const edits = fix === undefined ? undefined : features.fixEdits(data.uri, fix)
  return edits === undefined ? undefined : workspaceEdit(session, edits)
}

async function actionsFor(session: Session, file: Located, range: Range): Promise<CodeAction[]> {
  // Fixes are of findings.
  if (!isWorkedOn(session, file.uri)) return []
  const { severities } = await session.settingsOf(file.uri)
  const { start, end } = file.lines.span(range)
  const actions: CodeAction[] = []
  for (const fix of session.service.features.quickFixes(file.uri, start, end, severities)) {
    const { finding } = fix.finding
    const data: FixData = {
      uri: file.uri,
      version: versionOf(session, file.uri),
      code: finding.code,
      start: fix.finding.start,
      end: fix.finding.end,
      index: fix.index,
    }
    const action: CodeAction = { title: fix.title, kind: CodeActionKind.QuickFix }
    if (fix.preferred) action.isPreferred = true
    const range = file.lines.range(fix.finding)
    action.diagnostics = [{ range, message: finding.message, code: finding.code, source: 'detent' }]
    if (session.client.resolvesCodeActions) action.data = data
    else {
      const edit = await editOf(session, data)
      if (edit === undefined) continue
      action.edit = edit
    }
    actions.push(action)
  }
  return actions
}

/** Whether a person asked for this kind of action; a kind stands for all below it. */
function wants(only: readonly string[] | undefined, kind: CodeActionKind): boolean {
  return only === undefined || only.some(one => one === '' || one === kind || kind.startsWith(`${one}.`))
}

/** What a fit of a part is asked for again with. */
interface FitData {
  readonly uri: string
  readonly version: number | null
  readonly part: string
}

const fitKind = CodeActionKind.RefactorRewrite

/** Our own client's command, which shows the fit of a part. */
const showFit = 'detent.fitPart'

/** Fits take the time of reading logs: they are made once they are chosen, for clients that ask again then. */
async function fitsFor(session: Session, file: Located, range: Range): Promise<CodeAction[]> {
  const { client, service } = session
  const { start, end } = file.lines.span(range)
  if (!client.resolvesCodeActions || !session.readsLogs()) return []
  const touched = partsAt(service.workspace, file.uri, start, end)
  if (touched.length === 0) return []
  // The runs may stand in any file.
  await session.scanned
  const fittable = partsOf(service.workspace, file.uri).filter(({ part, count }) => count > 0 && touched.includes(part))
  return fittable.map(({ part, count }) => {
    const data: FitData = { uri: file.uri, version: versionOf(session, file.uri), part: part.name }
    return { title: `Fit ${part.name} to its ${count === 1 ? 'run' : `${count} runs`}`, kind: fitKind, data }
  })
}

async function resolvedFit(
  session: Session,
  action: CodeAction,
  data: FitData,
  token: CancellationToken,
): Promise<CodeAction> {
  const { bench } = session.service
  const { work, make } = fitInTurns(session, data.uri, data.part, { token })
  const fit = await telling(session, work, make)
  if (fit === undefined || versionOf(session, data.uri) !== data.version) return action
  const edits = bench.edits(data.uri, fit, { intoHome: !session.client.makesFiles })
  if (edits.length > 0) return { ...action, edit: workspaceEdit(session, edits) }
  // Nothing can be fitted: what would be silence says why.
  if (session.client.showsPapers) {
    const command = { title: action.title, command: showFit, arguments: [clientUri(session, data.uri), data.part] }
    return { ...action, command }
  }
  const message = `Detent: ${'why' in fit.result ? fit.result.why : fitWords.countText(fit)}`
  void session.connection.sendNotification(ShowMessageNotification.type, { type: MessageType.Info, message })
  return action
}

export const quickFixes: Feature = {
  advertise: client =>
    client.takesCodeActions
      ? {
          codeActionProvider: {
            codeActionKinds: [CodeActionKind.QuickFix, ...(client.resolvesCodeActions ? [fitKind] : []), showKind],
            resolveProvider: client.resolvesCodeActions,
          },
        }
      : undefined,
  register: session => {
    const { connection } = session
    registerReach(session)
    registerPropose(session)
    connection.onCodeAction(
      answering(
        session,
        'Quick fixes',
        null,
        async ({ textDocument, range, context }, token) => {
          const file = await loaded(session, textDocument)
          const [fixes, fits, shows] = [CodeActionKind.QuickFix, fitKind, showKind].map(kind =>
            wants(context.only, kind),
          )
          const isReach = (kind: string): boolean => wants(context.only, kind)
          if (file === undefined || !(fixes || fits || shows || isReach(reachKind))) return null
          // Fixes are of findings, and so is what it would take to reach what is expected.
          const checkNewest = newest(session, file)
          const isOver = (): boolean => {
            checkNewest()
            return token.isCancellationRequested
          }
          await prepareInSlices(session.service, file.uri, createSlices('shown'), isOver, seenIn(session, file.uri))
          if (isOver()) return null
          return [
            ...(fixes ? await actionsFor(session, file, range) : []),
            ...(fits ? await fitsFor(session, file, range) : []),
            ...(fits ? proposeActions(session, file, range) : []),
            ...(shows ? [...smallChangeActions(session, file, range), ...courseActions(session, file, range)] : []),
            ...(await reachActions(session, file, range, isReach, workspaceEdit)),
          ]
        },
        'shown',
      ),
    )
    if (!session.client.resolvesCodeActions) return
    connection.onCodeActionResolve((action, token) =>
      answering(session, 'Quick fix', action, async () => {
        const data = action.data as FixData | FitData | ReachData | ProposeData | undefined
        if (data !== undefined && 'reach' in data) return resolvedReach(session, action, data, workspaceEdit, token)
        if (data !== undefined && 'propose' in data)
          return resolvedProposal(session, action, data, workspaceEdit, token)
        if (data !== undefined && 'part' in data) return resolvedFit(session, action, data, token)
        const edit = data === undefined ? undefined : await editOf(session, data)
        return edit === undefined ? action : { ...action, edit }
      })(action, token),
    )
  },
}
