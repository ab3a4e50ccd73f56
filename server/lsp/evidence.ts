/** What trials show of voltages, and what to try next, for our own client. */
import type { CodeLens, Range, ResponseError, WorkspaceEdit } from 'vscode-languageserver'
import {
  evidenceLenses,
  evidenceMarkdown,
  nextTrials,
  nextWords,
  noTrialText,
  partLedgers,
  runEdit,
  type TrialProposal,
  wording,
} from '../service.ts'
import { workspaceEdit } from './editing.ts'
import { finishedInSlices } from './extent.ts'
import type { Feature } from './feature.ts'
import { readLogs } from './log-reading.ts'
import { failed, loadAll, NoPaper, orTrouble, type Paper, type Trouble } from './papers.ts'
import { linesOf } from './positions.ts'
import { answering, clientUri, type Located, loaded, type Session } from './session.ts'

/** Asked with a file and a part of it: its ledger and what to try next, as a paper. */
const evidenceMethod = 'detent/evidence'
/** Asked with a file and a profile of it: proposals, and the edit that puts each into the file as a run. */
const nextMethod = 'detent/nextTrials'
/** Our own client's command, which shows the paper. */
const showEvidence = 'detent.showEvidence'

/** Beside whatever stops with any chance, what is proposed to those who mind. */
const CAREFUL_RISK = 0.3

interface ToldTrial {
  readonly title: string
  readonly detail: string
  readonly careful: boolean
  readonly edit: WorkspaceEdit
  /** Where the block stands once the edit is made. */
  readonly range: Range
}

interface ToldTrials {
  readonly known: string
  readonly trials: readonly ToldTrial[]
}

interface Asked {
  readonly uri?: unknown
  readonly part?: unknown
  readonly profile?: unknown
}

/** The lines above what is stated of voltages, for the one client that can go on from there. */
export async function trialLensesOf(session: Session, { uri, lines }: Located): Promise<CodeLens[]> {
  if (!session.client.showsPapers) return []
  const { workspace, bench } = session.service
  const found = await finishedInSlices(evidenceLenses(workspace, bench, uri))
  return found.map(lens => ({
    range: lines.range(lens),
    command: {
      title: wording.visible(lens.text),
      command: showEvidence,
      arguments: [clientUri(session, uri), lens.part],
    },
  }))
}

/** Runs in any file may be trials of the part: all are loaded, with their logs. */
async function loadTrials(session: Session): Promise<void> {
  await loadAll(session)
  if (session.readsLogs())
    await readLogs(
      session,
      [...session.service.workspace.documents()].map(({ uri }) => uri),
    )
}

function namesOfRuns({ service }: Session): ReadonlySet<string> {
  const runs = [...service.workspace.documents()].flatMap(({ definitions }) => definitions)
  return new Set(runs.filter(({ kind }) => kind === 'run').map(({ name }) => name))
}

async function evidencePaper(session: Session, { uri, part: name }: Asked): Promise<Paper> {
  if (typeof uri !== 'string' || typeof name !== 'string') throw new NoPaper('No part is named.')
  await loadTrials(session)
  const file = await loaded(session, { uri })
  const { service } = session
  const { workspace, bench } = service
  const part = file?.document.definitions.find(one => one.kind === 'part' && one.name === name)
  if (file === undefined || part === undefined) throw new NoPaper(`There is no part ${name} in its file any more.`)
  await finishedInSlices(bench.evidenceInSlices(part))
  const ledger = partLedgers(workspace, bench, [file.uri]).find(one => one.part === part)
  if (ledger === undefined) throw new NoPaper(`There is no part ${name} in its file any more.`)
  const taken = namesOfRuns(session)
  const next = [file.uri, ...workspace.usersOf(file.uri)].flatMap(one =>
    service
      .evaluations(one)
      .filter(({ profile }) => profile.part === part)
      .flatMap(evaluation => nextTrials(evaluation, ledger.evidence, 1, taken) ?? []),
  )
  return { markdown: evidenceMarkdown(ledger, next) }
}

async function nextOf(session: Session, { uri, profile: name }: Asked): Promise<ToldTrials> {
  if (typeof uri !== 'string' || typeof name !== 'string') throw new NoPaper('No profile is named.')
  await loadTrials(session)
  const file = await loaded(session, { uri })
  const evaluation =
    file && session.service.evaluations(file.uri).find(({ profile }) => profile.definition.name === name)
  if (file === undefined || evaluation === undefined)
    throw new NoPaper(`There is no profile ${name} in its file any more.`)
  const evidence = await finishedInSlices(session.service.bench.evidenceInSlices(evaluation.profile.part))
  const taken = namesOfRuns(session)
  const [any, careful] = [1, CAREFUL_RISK].map(risk => nextTrials(evaluation, evidence, risk, taken))
  if (any === undefined || careful === undefined)
    throw new NoPaper(`Nothing can be proposed for ${name}, because ${noTrialText(evaluation)}.`)
  const told = (proposal: TrialProposal, isCareful: boolean): ToldTrial => {
    const { edit, begins } = runEdit(file.document, proposal.run)
    const { text } = file.document.source
    const after = text.slice(0, edit.start) + edit.text + text.slice(edit.end)
    return {
      title: nextWords.trialText(proposal),
      detail: nextWords.outcomesText(proposal),
      careful: isCareful,
      edit: workspaceEdit(session, [{ uri: file.uri, edits: [edit] }]),
      range: linesOf({ text: after }).range({ start: begins, end: begins + proposal.run.indexOf('{') }),
    }
  }
  const trials = [
    ...any.proposals.map(one => told(one, one.stopProbability <= CAREFUL_RISK)),
    ...careful.proposals
      .filter(one => !any.proposals.some(other => other.ratio === one.ratio && other.setV === one.setV))
      .map(one => told(one, true)),
  ]
  if (trials.length === 0) throw new NoPaper(nextWords.noProposalText(any))
  return { known: nextWords.knownText(any), trials }
}

export const evidence: Feature = {
  // Nothing of the protocol's own: a client that knows these requests asks.
  advertise: () => ({}),
  register: session => {
    const { connection } = session
    connection.onRequest<Paper | Trouble | ResponseError<never>, never>(
      evidenceMethod,
      answering(
        session,
        'Weighing trials',
        failed,
        (asked: Asked | null) => orTrouble(() => evidencePaper(session, asked ?? {})),
        'asked',
      ),
    )
    connection.onRequest<ToldTrials | Trouble | ResponseError<never>, never>(
      nextMethod,
      answering(
        session,
        'Looking for the next trial',
        failed,
        (asked: Asked | null) => orTrouble(() => nextOf(session, asked ?? {})),
        'asked',
      ),
    )
  },
}
