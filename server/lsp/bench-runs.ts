/** Runs of the bench for our own client: written from their logs, and parts fitted to them. */

import type { CancellationToken, Position, Range, ResponseError, WorkspaceEdit } from 'vscode-languageserver'
import { fitMarkdown, fitWords, newRun, partsOf, type RunChoices, runChoices, unbroken } from '../service.ts'
import { outside } from '../workspace/bounds.ts'
import { normalizeUri } from '../workspace/files.ts'
import { workspaceEdit } from './editing.ts'
import type { Feature } from './feature.ts'
import { boundsOf } from './folders.ts'
import { fitInTurns } from './log-reading.ts'
import { failed, loadAll, NoPaper, orTrouble, type Trouble } from './papers.ts'
import { linesOf } from './positions.ts'
import { telling, tellingOthers, tokenIn, type Work } from './progress.ts'
import { answering, clientUri, loaded, type Session } from './session.ts'

/** Asked with a file and a place in it: what a run can be of, and under which load. */
const runChoicesMethod = 'detent/runChoices'
/** Asked with a file, a log, a profile and a load: the edit that adds the run. */
const runFromLogMethod = 'detent/runFromLog'

interface ToldRun {
  readonly edit: WorkspaceEdit
  /** Where the run's name stands once the edit is made. */
  readonly range: Range
  readonly told: string
  readonly doubtful: boolean
}

/** Asked with nothing: the parts of all files, and how many runs were made with each. */
const partsMethod = 'detent/parts'
/** Asked with a file and a part of it: the fit as a paper, and the edit that writes it into the files. */
const fitMethod = 'detent/fit'

interface ToldPart {
  readonly uri: string
  readonly part: string
  readonly runs: number
}

interface ToldFit {
  readonly markdown: string
  /** How many constants were fitted to how many runs. */
  readonly told: string
  /** Absent where nothing was fitted. */
  readonly edit?: WorkspaceEdit
}

interface Asked {
  readonly workDoneToken?: unknown
  readonly uri?: unknown
  readonly position?: unknown
  readonly log?: unknown
  readonly profile?: unknown
  readonly load?: unknown
  readonly part?: unknown
}

const notLoaded = 'The file is not open here.'

async function choices(session: Session, { uri, position }: Asked): Promise<RunChoices> {
  await session.scanned
  const file = typeof uri === 'string' ? await loaded(session, { uri }) : undefined
  const view = file && session.service.workspace.view(file.uri)
  if (file === undefined || view === undefined) throw new NoPaper(notLoaded)
  return runChoices(view, file.lines.offset((position ?? { line: 0, character: 0 }) as Position))
}

async function runFromLog(
  session: Session,
  { uri, log, profile, load, workDoneToken }: Asked,
): Promise<ToldRun | Trouble> {
  if (typeof uri !== 'string' || typeof log !== 'string' || typeof profile !== 'string' || typeof load !== 'string') {
    throw new NoPaper('Name a file, a log, a profile and a load.')
  }
  // Other files may have the profile, or a run of the same name.
  await loadAll(session)
  if ((await loaded(session, { uri })) === undefined) throw new NoPaper(notLoaded)
  if (!boundsOf(() => session)(normalizeUri(uri), normalizeUri(log)))
    throw new NoPaper(`The log was not read: ${outside}. Put it into one of them, or open its folder as well.`)
  const { workspace } = session.service
  const work: Work = { title: 'Reading the log', count: () => undefined, given: tokenIn(workDoneToken) }
  const made = await telling(session, work, () => newRun(workspace, session.files.logs, { uri, log, profile, load }))
  if ('trouble' in made) return made
  const { edit, at, told, doubtful } = made
  const { source } = workspace.document(uri) ?? { source: { text: '' } }
  const text = source.text.slice(0, edit.start) + edit.text + source.text.slice(edit.end)
  return {
    edit: workspaceEdit(session, [{ uri: normalizeUri(uri), edits: [edit] }]),
    range: linesOf({ text }).range(at),
    told,
    doubtful,
  }
}

async function parts(session: Session): Promise<readonly ToldPart[]> {
  await loadAll(session)
  const { workspace } = session.service
  const found = [...workspace.documents()].flatMap(({ uri }) =>
    partsOf(workspace, uri).map(({ part, count }) => ({ uri: clientUri(session, uri), part: part.name, runs: count })),
  )
  const order = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
  // What can be fitted comes first.
  return found.sort((a, b) => b.runs - a.runs || order(a.part, b.part) || order(a.uri, b.uri))
}

async function fitted(
  session: Session,
  { uri, part, workDoneToken }: Asked,
  token: CancellationToken,
): Promise<ToldFit> {
  if (typeof uri !== 'string' || typeof part !== 'string') throw new NoPaper('No part is named.')
  if (!session.readsLogs()) throw new NoPaper('Logs cannot be read here.')
  // Runs may stand in any file that uses this one.
  await loadAll(session)
  const file = await loaded(session, { uri })
  const { workspace, bench } = session.service
  const turns = file && fitInTurns(session, file.uri, part, { token, workDoneToken })
  const fit = turns && (await tellingOthers(session, turns.work, turns.make))
  if (file === undefined || !partsOf(workspace, file.uri).some(one => one.part.name === part))
    throw new NoPaper(`There is no part ${part} in its file any more.`)
  if (fit === undefined) throw new NoPaper('A file was changed while the fit was made: ask for it again.')
  const edits = bench.edits(file.uri, fit, { intoHome: !session.client.makesFiles })
  const edit = edits.length === 0 ? {} : { edit: workspaceEdit(session, edits) }
  return { markdown: unbroken(fitMarkdown(fit)), told: fitWords.countText(fit), ...edit }
}

export const benchRuns: Feature = {
  // Nothing of the protocol's own: a client that knows these requests asks.
  advertise: () => ({}),
  register: session => {
    const { connection } = session
    connection.onRequest<RunChoices | Trouble | ResponseError<never>, never>(
      runChoicesMethod,
      answering(session, 'Listing profiles and loads', failed, (asked: Asked | null) =>
        orTrouble(() => choices(session, asked ?? {})),
      ),
    )
    connection.onRequest<ToldRun | Trouble | ResponseError<never>, never>(
      runFromLogMethod,
      answering(session, 'Reading the log', failed, (asked: Asked | null) =>
        orTrouble(() => runFromLog(session, asked ?? {})),
      ),
    )
    connection.onRequest<readonly ToldPart[] | ResponseError<never>, never>(
      partsMethod,
      answering(session, 'Listing parts', [], (_: unknown) => parts(session)),
    )
    connection.onRequest<ToldFit | Trouble | ResponseError<never>, never>(
      fitMethod,
      answering(
        session,
        'Fitting',
        failed,
        (asked: Asked | null, token) => orTrouble(() => fitted(session, asked ?? {}, token)),
        'asked',
      ),
    )
  },
}
