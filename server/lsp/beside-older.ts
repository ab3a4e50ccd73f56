/**
 * A map beside the same profile as it was at a commit. Git is asked where a person picks the commit; what is drawn later, as
 * the person types and the cursor moves, rests on what was read then.
 */

import type { ResponseError } from 'vscode-languageserver'
import { type BesideMap, homeOf, type Service, type Subject, subjectAt, wording } from '../service.ts'
import type { Feature } from './feature.ts'
import { placeOf } from './hover-completion.ts'
import { failed, NoPaper, olderProfile, orTrouble, type Trouble } from './papers.ts'
import { answering, loaded, type Session } from './session.ts'

/** Asked with a place and a commit: reads the profile of the place as it was. */
const lookUpMethod = 'detent/lookUpBeside'

/** So many files at commits are kept; the one that was read first goes. Its panel asks for the commit to be picked again. */
const mostKept = 12

/** Evicted with the session; within it by the count above. */
const olderOf = new WeakMap<Session, Map<string, Service>>()

/** How a commit is shown. */
const short = (commit: string): string => commit.slice(0, 8)

/** The file of the profile that a picture is of, and what it is kept under at a commit. */
function homeAt({ service: { workspace } }: Session, uri: string, { evaluation }: Subject, commit: string) {
  const view = workspace.view(uri)
  const home = view === undefined ? uri : homeOf(workspace, view, evaluation).document.uri
  return { home, key: `${commit} ${home}` }
}

/** Whether the profiles of a file may be looked up at commits. */
export function hasCommits(session: Session, uri: string): boolean {
  return session.revisionOf !== undefined && session.isTrusted && session.isInRepository(uri)
}

/** What a map has beside its own edges, or why it is not there. @param commit that was looked up for it */
export function besideOlder(session: Session, uri: string, subject: Subject, commit: string): BesideMap {
  const { home, key } = homeAt(session, uri, subject, commit)
  const { name } = subject.evaluation.profile.definition
  const label = `${name}@${short(commit)}`
  const service = olderOf.get(session)?.get(key)
  if (service === undefined) return { lacks: `${label} is not looked up: pick the commit again.` }
  const evaluation = service.evaluations(home).find(({ profile }) => profile.definition.name === name)
  if (evaluation === undefined) return { lacks: `Its file had no profile ${name} at ${short(commit)}.` }
  return { label, workspace: service.workspace, evaluation }
}

async function lookUp(session: Session, asked: Readonly<Record<string, unknown>>): Promise<object> {
  const { textDocument, position } = placeOf(asked)
  const { commit } = asked
  if (typeof commit !== 'string' || !/^[0-9a-f]{40,64}$/.test(commit)) throw new NoPaper('No commit is named.')
  const file = await loaded(session, textDocument)
  const { workspace, bench } = session.service
  const subject = file && subjectAt(workspace, bench, file.uri, file.lines.offset(position))
  if (file === undefined || subject === undefined) throw new NoPaper('No picture belongs to this place.')
  const { home, key } = homeAt(session, file.uri, subject, commit)
  const profile = subject.evaluation.profile.definition.name
  const { service } = await olderProfile(session, { uri: home, profile }, commit)
  const kept = olderOf.get(session) ?? new Map<string, Service>()
  olderOf.set(session, kept)
  kept.delete(key)
  kept.set(key, service)
  for (const first of kept.keys()) if (kept.size > mostKept) kept.delete(first)
  return { label: wording.visible(`${profile}@${short(commit)}`) }
}

export const besideCommits: Feature = {
  // Nothing of the protocol's own: a client that knows the request asks.
  advertise: () => ({}),
  register: session => {
    session.connection.onRequest<object | Trouble | ResponseError<never>, never>(
      lookUpMethod,
      answering(session, 'Looking up a commit', failed, (asked: unknown) =>
        orTrouble(() => lookUp(session, (asked ?? {}) as Readonly<Record<string, unknown>>)),
      ),
    )
  },
}
