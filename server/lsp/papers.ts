/** Papers that our own client shows: the entry sheet of a profile, and profiles side by side. */

import type { ResponseError } from 'vscode-languageserver'
import type { PlacedProfile } from '../features/compare/run-sides.ts'
import type { Side } from '../features/compare/types.ts'
import {
  compareMarkdown,
  compareProfiles,
  createService,
  profileIn,
  runsOfSide,
  type Service,
  sheetFor,
  sheetHtml,
  sheetMarkdown,
  unbroken,
} from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { Feature } from './feature.ts'
import { answering, clientUri, loaded, type Session } from './session.ts'
import { makeRuns } from './shadow.ts'

/** Asked with nothing: the profiles of all files, and whether older revisions can be read. */
const profilesMethod = 'detent/profiles'
/** Asked with a profile, and perhaps with one that it is compared with. */
const sheetMethod = 'detent/sheet'
/** Asked with two profiles or more. */
const compareMethod = 'detent/compare'

/** A profile by its file and name, and the git revision where it is an older one. */
interface AskedProfile {
  readonly uri: string
  readonly profile: string
  readonly revision?: string
}

interface ToldProfiles {
  readonly profiles: readonly { readonly uri: string; readonly profile: string }[]
  readonly revisions: boolean
}

/** A paper, or in one sentence why there is none. */
export type Paper = { readonly markdown: string; readonly html?: string } | Trouble

export interface Trouble {
  readonly trouble: string
}

interface ServedProfile extends PlacedProfile {
  readonly service: Service
}

/** Something that the person can fix, shown as it is. */
export class NoPaper extends Error {}

function askedProfile(value: unknown): AskedProfile {
  const { uri, profile, revision } = (value ?? {}) as Readonly<Record<string, unknown>>
  if (typeof uri !== 'string' || typeof profile !== 'string') throw new NoPaper('No profile is named.')
  return typeof revision === 'string' && revision !== '' ? { uri, profile, revision } : { uri, profile }
}

async function presentProfile(session: Session, { uri, profile: name }: AskedProfile): Promise<ServedProfile> {
  await session.scanned
  const file = await loaded(session, { uri })
  const { service } = session
  const { workspace } = service
  if (file === undefined || profileIn(workspace, file.uri, name) === undefined) {
    throw new NoPaper(`There is no profile ${name} in its file any more.`)
  }
  return { name, label: name, service, workspace, uri: file.uri, commit: undefined }
}

/** Errors: `NoPaper` where the profile cannot be read as it was. */
export async function olderProfile(
  session: Session,
  { uri, profile: name }: AskedProfile,
  revision: string,
): Promise<ServedProfile> {
  const { revisionOf } = session
  if (revisionOf === undefined) throw new NoPaper('Older revisions cannot be read here.')
  const { commit, files } = await revisionOf(normalizeUri(uri), revision).catch(error => {
    throw new NoPaper(error instanceof Error ? error.message : String(error))
  })
  const service = createService(files)
  const { workspace } = service
  await workspace.load([uri])
  if (profileIn(workspace, normalizeUri(uri), name) === undefined) {
    throw new NoPaper(`Its file has no profile ${name} at the revision ${revision}.`)
  }
  return { name, label: `${name}@${revision}`, service, workspace, uri: normalizeUri(uri), commit }
}

function placedProfile(session: Session, asked: AskedProfile): Promise<ServedProfile> {
  const { revision } = asked
  return revision === undefined ? presentProfile(session, asked) : olderProfile(session, asked, revision)
}

/** All files are looked through first: runs and profiles may stand in any of them. */
export async function loadAll(session: Session): Promise<void> {
  await session.scanned
  await session.service.workspace.load([...session.open.keys(), ...session.found])
}

async function profilesOf(session: Session): Promise<ToldProfiles> {
  await loadAll(session)
  const profiles = [...session.service.workspace.documents()].flatMap(({ uri, definitions }) =>
    definitions
      .filter(({ kind }) => kind === 'profile')
      .map(({ name }) => ({ uri: clientUri(session, uri), profile: name })),
  )
  const order = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0)
  profiles.sort((a, b) => order(a.profile, b.profile) || order(a.uri, b.uri))
  return { profiles, revisions: session.revisionOf !== undefined && session.isTrusted }
}

async function sheetPaper(session: Session, asked: unknown, from: unknown): Promise<Paper> {
  const own = await presentProfile(session, askedProfile(asked))
  const other = from === undefined || from === null ? undefined : await placedProfile(session, askedProfile(from))
  const profile = other && profileIn(other.workspace, other.uri, other.name)
  const { severities } = await session.settingsOf(own.uri)
  const sheet = sheetFor(own.workspace, own.uri, own.name, {
    severities,
    evidence: session.service.bench.evidence,
    ...(other === undefined || profile === undefined ? {} : { from: { label: other.label, profile } }),
  })
  if (sheet === undefined) throw new NoPaper(`There is no profile ${own.name} in its file any more.`)
  return { markdown: unbroken(sheetMarkdown(sheet)), html: sheetHtml(sheet) }
}

async function sideOf(session: Session, asked: AskedProfile): Promise<{ side: Side; notes: readonly string[] }> {
  const placed = await placedProfile(session, asked)
  const { uri, profile } = asked
  const now =
    placed.commit === undefined ? placed : await presentProfile(session, { uri, profile }).catch(() => undefined)
  const atRevision = (revision: string): Promise<PlacedProfile | undefined> =>
    olderProfile(session, asked, revision).catch(() => undefined)
  const { runs, notes } = await runsOfSide(now, placed, atRevision)
  const evaluation = placed.service.evaluations(placed.uri).find(one => one.profile.definition.name === placed.name)
  if (evaluation === undefined) throw new NoPaper(`There is no profile ${placed.label} in its file any more.`)
  placed.service.expectations(evaluation)
  await makeRuns(placed.service, () => false)
  const expectations = placed.service.expectations(evaluation)
  const file = clientUri(session, placed.uri)
  return { side: { label: placed.label, file, evaluation, expectations, runs }, notes }
}

async function comparePaper(session: Session, asked: unknown): Promise<Paper> {
  const profiles = Array.isArray(asked) ? asked.map(askedProfile) : []
  if (profiles.length < 2) throw new NoPaper('A comparison takes two or more profiles.')
  await loadAll(session)
  const sides: Side[] = []
  const notes: string[] = []
  for (const one of profiles) {
    const found = await sideOf(session, one)
    sides.push(found.side)
    notes.push(...found.notes)
  }
  return { markdown: unbroken(compareMarkdown(compareProfiles(sides, notes))) }
}

/** A person's mistake is reported as it is; whatever else goes wrong is logged. */
export async function orTrouble<R>(make: () => Promise<R>): Promise<R | Trouble> {
  try {
    return await make()
  } catch (error) {
    if (error instanceof NoPaper) return { trouble: error.message }
    throw error
  }
}

interface AskedPaper {
  readonly profile?: unknown
  readonly from?: unknown
  readonly profiles?: unknown
}

export const failed: Trouble = { trouble: 'It failed; the output has the details.' }

export const papers: Feature = {
  // Nothing of the protocol's own: a client that knows these requests asks.
  advertise: () => ({}),
  register: session => {
    const { connection } = session
    const none: ToldProfiles = { profiles: [], revisions: false }
    connection.onRequest<ToldProfiles | ResponseError<never>, never>(
      profilesMethod,
      answering(session, 'Listing profiles', none, (_: unknown) => profilesOf(session)),
    )
    connection.onRequest<Paper | ResponseError<never>, never>(
      sheetMethod,
      answering(session, 'Writing the entry sheet', failed, (asked: AskedPaper | null) =>
        orTrouble(() => sheetPaper(session, asked?.profile, asked?.from)),
      ),
    )
    connection.onRequest<Paper | ResponseError<never>, never>(
      compareMethod,
      answering(session, 'Comparing profiles', failed, (asked: AskedPaper | null) =>
        orTrouble(() => comparePaper(session, asked?.profiles)),
      ),
    )
  },
}
