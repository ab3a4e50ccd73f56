/** What it would take for an expectation to hold: actions of its line, made once they are chosen, and a text for any client. */

import {
  type AnnotatedTextEdit,
  type CancellationToken,
  type CodeAction,
  CodeActionKind,
  type Range,
  type TextDocumentEdit,
  type WorkspaceEdit,
} from 'vscode-languageserver'
import type { PlacedFinding } from '../checks/run.ts'
import type { ExpectationLine } from '../features/expectations.ts'
import {
  type Reach,
  type ReachAnswer,
  type ReachChange,
  ReachTrouble,
  reachSlices,
  reachWords,
  wording,
} from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { FileView } from '../workspace/workspace.ts'
import { say, serverCommands } from './commands.ts'
import { finishedInSlices } from './extent.ts'
import { isWorkedOn } from './folders.ts'
import { NoPaper } from './papers.ts'
import { telling } from './progress.ts'
import { clientUri, createWanted, type Located, loaded, located, modified, type Session } from './session.ts'

/** What an action is made again from once it is chosen. */
export interface ReachData {
  readonly uri: string
  readonly version: number | null
  readonly profile: string
  /** The expectation as behind `expect`. */
  readonly reach: string
}

/** Where an expectation holds, what it would take is no fix of anything. */
export const reachKind = CodeActionKind.RefactorRewrite

/** What was found; evicted with the view of the file, which a change of anything that it sees replaces. */
const found = new WeakMap<FileView, Map<string, Reach>>()

const keyOf = (profile: string, expectation: string): string => `${profile}\n${expectation}`

/** The edits of a change for the version that they were made for; a person sees them before they count, where the client can. */
export type MakeEdit = (session: Session, files: ReachAnswer['edits']) => WorkspaceEdit

/** An edit that a person sees and accepts before it counts, where the client can show it so. */
export function withPreview({ client }: Session, edit: WorkspaceEdit, label: string): WorkspaceEdit {
  if (!client.confirmsEdits || edit.documentChanges === undefined) return edit
  const documentChanges = (edit.documentChanges as TextDocumentEdit[]).map(change => ({
    ...change,
    edits: change.edits.map(one => ({ ...one, annotationId: 'reach' }) as AnnotatedTextEdit),
  }))
  return { documentChanges, changeAnnotations: { reach: { label, needsConfirmation: true } } }
}

const isSetting = ({ changes }: ReachAnswer): boolean => changes.every(({ isBench }) => !isBench)
const settingsOf = ({ answers, pairs }: Reach): readonly ReachAnswer[] => [...answers, ...pairs].filter(isSetting)

/** `bench.detent:41` */
function placeOf(session: Session): (change: ReachChange) => string {
  return ({ uri, offset }) => {
    const file = located(session, uri)
    const line = file === undefined ? 1 : file.lines.position(offset).line + 1
    return `${clientUri(session, uri).split('/').at(-1)}:${line}`
  }
}

/** What it would take, a few milliseconds at a time; errors where the request is taken back, or the text has changed. */
async function reached(
  session: Session,
  uri: string,
  { evaluation, expectation }: ExpectationLine,
  token: CancellationToken,
): Promise<Reach> {
  const { service } = session
  const view = service.workspace.view(uri)
  const name = evaluation.profile.definition.name
  const key = keyOf(name, expectation.text)
  const known = view && found.get(view)?.get(key)
  if (known !== undefined) return known
  const wanted = createWanted(session, uri, token)
  const { severities } = await session.settingsOf(uri)
  const title = `Finding what \`${expectation.text}\` would take`
  const work = { title, count: () => undefined, cancel: wanted.leave }
  const reach = await telling(session, work, () =>
    finishedInSlices(reachSlices(service, uri, name, expectation.sourced, severities), wanted.check),
  )
  if (view !== undefined) found.set(view, (found.get(view) ?? new Map<string, Reach>()).set(key, reach))
  return reach
}

function lineOf(session: Session, uri: string, profile: unknown, text: unknown): ExpectationLine | undefined {
  return session.service.features
    .expectations(uri)
    .find(one => one.evaluation.profile.definition.name === profile && one.expectation.text === text)
}

/** The actions of the expectations that a stretch touches: to find what each would take, and what was found. */
export async function reachActions(
  session: Session,
  file: Located,
  range: Range,
  wants: (kind: string) => boolean,
  makeEdit: MakeEdit,
): Promise<CodeAction[]> {
  if (!isWorkedOn(session, file.uri)) return []
  const { start, end } = file.lines.span(range)
  const { client, service } = session
  const view = service.workspace.view(file.uri)
  const lines = service.features.expectations(file.uri, { start, end })
  const touched = lines.filter(({ at }) => at.start <= end && at.end >= start)
  if (touched.length === 0) return []
  const { severities } = await session.settingsOf(file.uri)
  const failed = service.findings(file.uri, severities).filter(({ finding }) => finding.code === 'expect-failed')
  return touched.flatMap(({ evaluation, expectation: { text, holds, load }, at }): CodeAction[] => {
    const kind = holds === true ? reachKind : CodeActionKind.QuickFix
    if (!wants(kind)) return []
    const profile = evaluation.profile.definition.name
    const isOf = ({ start: from, finding }: PlacedFinding): boolean =>
      from === at.start && finding.profile === profile && finding.load === load
    const diagnostics = failed.filter(isOf).map(one => {
      const { message, code } = one.finding
      return { range: file.lines.range(one), message, code, source: 'detent' }
    })
    const shared = { kind, ...(diagnostics.length === 0 ? {} : { diagnostics }) }
    const known = view && found.get(view)?.get(keyOf(profile, text))
    if (known !== undefined && known.now.holds !== true) {
      return settingsOf(known).map(answer => {
        const title = reachWords.answerText(answer, known.now.unit)
        return { title, ...shared, edit: withPreview(session, makeEdit(session, answer.edits), title) }
      })
    }
    const title = `Find the smallest change with which \`${text}\` holds`
    const uri = clientUri(session, file.uri)
    if (!client.resolvesCodeActions) {
      const command = serverCommands.reach
      return [{ title, ...shared, command: { title, command, arguments: [uri, profile, text] } }]
    }
    const version = session.open.get(file.uri)?.version ?? null
    return [{ title, ...shared, data: { uri, version, profile, reach: text } satisfies ReachData }]
  })
}

const troubleText = (error: unknown): string => {
  if (error instanceof ReachTrouble) return error.message
  throw error
}

/** The action with the smallest change of a setting; all that was found is said. */
export async function resolvedReach(
  session: Session,
  action: CodeAction,
  { uri, version, profile, reach: text }: ReachData,
  makeEdit: MakeEdit,
  token: CancellationToken,
): Promise<CodeAction> {
  const key = normalizeUri(uri)
  const line = lineOf(session, key, profile, text)
  if (line === undefined || (session.open.get(key)?.version ?? null) !== version) throw modified
  try {
    const reach = await reached(session, key, line, token)
    say(session, wording.visible(reachWords.gistText(reach, placeOf(session))))
    const [best] = settingsOf(reach)
    if (best === undefined) return action
    const edit = withPreview(session, makeEdit(session, best.edits), reachWords.answerText(best, reach.now.unit))
    return { ...action, edit }
  } catch (error) {
    say(session, wording.visible(troubleText(error)))
    return action
  }
}

/** The text of the command for clients that resolve nothing. */
export function registerReach(session: Session): void {
  session.commands.set(serverCommands.reach, async ([uri, profile, text], token) => {
    if (typeof uri !== 'string') throw new NoPaper('No file is named.')
    await session.scanned
    const file = await loaded(session, { uri })
    const line = file && lineOf(session, file.uri, profile, text)
    if (file === undefined || line === undefined)
      throw new NoPaper('There is no such expectation in the file any more.')
    try {
      const reach = await reached(session, file.uri, line, token)
      say(session, wording.visible(reachWords.gistText(reach, placeOf(session))))
      return `${reachWords.listText(reach, placeOf(session))}\n`
    } catch (error) {
      throw new NoPaper(troubleText(error))
    }
  })
}
