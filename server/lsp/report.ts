/** The report of a bench, for our own client: of all its files, as the command writes it for a folder. */

import type { CancellationToken, ResponseError } from 'vscode-languageserver'
import { type Making, makeReport, reportMarkdown, reportPage, reportProfiles, unbroken } from '../service.ts'
import type { Feature } from './feature.ts'
import { shownPath } from './folders.ts'
import { failed, loadAll, NoPaper, orTrouble, type Trouble } from './papers.ts'
import { type Count, tellingOthers, tokenIn, type Work } from './progress.ts'
import { revisionsFor } from './revisions.ts'
import { answering, type Session } from './session.ts'
import { sliceMs, turn } from './turns.ts'

/** Asked with names of profiles, or none for all, perhaps with one that the others are compared with. */
const reportMethod = 'detent/report'

interface Report {
  readonly markdown: string
  readonly html: string
}

interface Asked {
  readonly workDoneToken?: unknown
  readonly profiles?: unknown
  readonly baseline?: unknown
}

/** Lets messages in between the pieces. */
async function made(making: Making, token: CancellationToken) {
  for (;;) {
    const step = making.next()
    if (step.done === true) return step.value
    await turn('asked')
    if (token.isCancellationRequested) throw new NoPaper('It was cancelled.')
  }
}

function reportOf(session: Session, asked: Asked, token: CancellationToken): Promise<Report> {
  let now: Count | undefined
  const work: Work = { title: 'Writing the report', count: () => now, given: tokenIn(asked.workDoneToken) }
  return tellingOthers(session, work, () =>
    writtenReport(session, asked, token, count => {
      now = count
    }),
  )
}

async function writtenReport(
  session: Session,
  asked: Asked,
  token: CancellationToken,
  tellCount: (count: Count) => void,
): Promise<Report> {
  await loadAll(session)
  const { service } = session
  const uris = new Set([...session.open.keys(), ...session.found])
  const files = [...uris].sort().map(uri => ({ uri, shown: shownPath(session, uri) }))
  for (const [done, { uri }] of files.entries()) {
    tellCount({ done, of: files.length, what: 'file' })
    if (session.readsLogs()) await service.bench.loadLogs(uri, { revisions: revisionsFor(session) })
  }
  const all = reportProfiles(service, files)
  const names = new Set(all.map(({ evaluation }) => evaluation.profile.definition.name))
  const profiles = Array.isArray(asked.profiles) ? asked.profiles.map(String) : []
  const baseline = typeof asked.baseline === 'string' ? asked.baseline : undefined
  const unknown = [...profiles, ...(baseline === undefined ? [] : [baseline])].find(name => !names.has(name))
  if (unknown !== undefined) throw new NoPaper(`There is no profile ${unknown} any more.`)
  if (all.length === 0) throw new NoPaper('There is no profile to report on.')
  for (const [done, { evaluation }] of all.entries()) {
    tellCount({ done, of: all.length, what: 'profile' })
    service.expectations(evaluation)
    await turn('asked')
  }
  for (const of = service.runs.pending(); service.runs.pending() > 0 && !token.isCancellationRequested; ) {
    tellCount({ done: of - service.runs.pending(), of, what: 'run' })
    service.runs.makeSome(sliceMs)
    await turn('asked')
  }
  const blocks = await made(
    makeReport(service, { files, profiles, ...(baseline === undefined ? {} : { baseline }) }),
    token,
  )
  const html = await reportPage('Bench report', blocks)
  return { markdown: unbroken(reportMarkdown(blocks)), html }
}

export const report: Feature = {
  // Nothing of the protocol's own: a client that knows the request asks.
  advertise: () => ({}),
  register: session => {
    session.connection.onRequest<Report | Trouble | ResponseError<never>, never>(
      reportMethod,
      answering(
        session,
        'Writing the report',
        failed,
        (asked: Asked | null, token) => orTrouble(() => reportOf(session, asked ?? {}, token)),
        'asked',
      ),
    )
  },
}
