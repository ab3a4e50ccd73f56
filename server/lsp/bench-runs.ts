import type { Position, Range, ResponseError, WorkspaceEdit } from 'vscode-languageserver'
import { newRun, type RunChoices, runChoices } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import { workspaceEdit } from './editing.ts'
import type { Feature } from './feature.ts'
import { failed, loadAll, NoPaper, orTrouble, type Trouble } from './papers.ts'
import { linesOf } from './positions.ts'
import { answering, loaded, type Session } from './session.ts'

/** Runs of the bench for our own client: written from their logs. */

/** Asked with a file and a place in it: what a run can be of, and under which load. */
export const runChoicesMethod = 'detent/runChoices'
/** Asked with a file, a log, a profile and a load: the edit that adds the run. */
export const runFromLogMethod = 'detent/runFromLog'

interface ToldRun {
  readonly edit: WorkspaceEdit
  /** Where the run's name stands once the edit is made. */
  readonly range: Range
  readonly told: string
  readonly doubtful: boolean
}

interface Asked {
  readonly uri?: unknown
  readonly position?: unknown
  readonly log?: unknown
  readonly profile?: unknown
  readonly load?: unknown
}

const notLoaded = 'The file is none of those that are open.'

async function choices(session: Session, { uri, position }: Asked): Promise<RunChoices> {
  await session.scanned
  const file = typeof uri === 'string' ? await loaded(session, { uri }) : undefined
  const view = file && session.service.workspace.view(file.uri)
  if (file === undefined || view === undefined) throw new NoPaper(notLoaded)
  return runChoices(view, file.lines.offset((position ?? { line: 0, character: 0 }) as Position))
}

async function runFromLog(session: Session, { uri, log, profile, load }: Asked): Promise<ToldRun | Trouble> {
  if (typeof uri !== 'string' || typeof log !== 'string' || typeof profile !== 'string' || typeof load !== 'string') {
    throw new NoPaper('A file, a log, a profile and a load are needed.')
  }
  // Other files may have the profile, or a run of the same name.
  await loadAll(session)
  if ((await loaded(session, { uri })) === undefined) throw new NoPaper(notLoaded)
  const { workspace } = session.service
  const made = await newRun(workspace, session.files.logs, { uri, log, profile, load })
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
  },
}
