/** What has changed since a commit: looked up in git where a person asks, then shown above profiles, and as a paper. */

import type { CancellationToken, CodeLens, ResponseError } from 'vscode-languageserver'
import type { SinceSide } from '../features/since/types.ts'
import { changesSince, type Service, sinceMarkdown, sinceWords, unbroken, wording } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { FileView } from '../workspace/workspace.ts'
import { say, serverCommands } from './commands.ts'
import type { Publisher } from './diagnostics.ts'
import type { Feature } from './feature.ts'
import { placeIn, shownPath } from './folders.ts'
import { failed, loadAll, NoPaper, orTrouble, type Paper, type Trouble } from './papers.ts'
import { tellingOthers, tokenIn } from './progress.ts'
import { notTrusted } from './revisions.ts'
import { answering, cancelled, clientUri, type Located, loaded, type Session } from './session.ts'
import { benchFrom, createShadow, makeAll, type Shadow } from './shadow.ts'

/** Asked with a file: looks up its profiles at the last commit, and shows above them what has changed. */
const lookUpMethod = 'detent/lookUpSince'
/** Asked with a file, a revision, and perhaps one profile of the file: what has changed, else of the whole bench. */
const sinceMethod = 'detent/since'
/** Asked with a file and how many to pass over: the commits of its repository, the latest first. */
const commitsMethod = 'detent/commits'

/** Our own client's commands. */
const lookUpCommand = 'detent.lookUpSince'
const compareCommand = 'detent.compareSince'

const lastCommit = 'HEAD'
/** Commits that are listed at a time; a person asks for more. */
const commitsOfList = 100

interface Asked {
  readonly workDoneToken?: unknown
  readonly uri?: unknown
  readonly profile?: unknown
  readonly revision?: unknown
  readonly skip?: unknown
}

interface LookedUp {
  /** Profiles by name, and what has changed of each. */
  readonly profiles: readonly { readonly profile: string; readonly text: string }[]
}

/** A file as it was at the last commit, and as it is. */
interface Watched {
  readonly older: Service
  readonly now: Shadow
  /** What was compared last, and what came of it by profile. */
  view: FileView | undefined
  glances: ReadonlyMap<string, string>
  isRunning: boolean
}

/** Evicted with the session. */
const watchedOf = new WeakMap<Session, Map<string, Watched>>()

/** By file; evicted when the file is closed, and replaced at each look. */
function watchedIn(session: Session): Map<string, Watched> {
  const known = watchedOf.get(session) ?? new Map<string, Watched>()
  watchedOf.set(session, known)
  for (const uri of known.keys()) if (!session.open.has(uri)) known.delete(uri)
  return known
}

async function opened(session: Session, uri: string, revision: string) {
  if (session.revisionOf === undefined) throw new NoPaper('Older revisions cannot be read here.')
  if (!session.isTrusted) throw new NoPaper(notTrusted)
  return session.revisionOf(uri, revision).catch(error => {
    throw new NoPaper(error instanceof Error ? error.message : String(error))
  })
}

const namesIn = (service: Service, uri: string): readonly string[] =>
  service.workspace.document(uri)?.definitions.flatMap(({ kind, name }) => (kind === 'profile' ? [name] : [])) ?? []

function sideOf(session: Session, service: Service, uris: readonly string[]): SinceSide {
  const there = uris.filter(uri => service.workspace.document(uri) !== undefined)
  return { ...service, files: there.map(uri => ({ uri, name: shownPath(session, uri) })) }
}

/** What has changed of each profile of a file, from what is there at once. */
function glancesOf(session: Session, { older, now }: Watched, uri: string): ReadonlyMap<string, string> {
  const names = namesIn(now.service, uri)
  const files = [...older.workspace.documents()].map(document => document.uri)
  const found = changesSince(sideOf(session, older, files), sideOf(session, now.service, [uri]), names)
  const texts = found.profiles.flatMap(profile => {
    const isNow = profile.change !== 'gone'
    return isNow ? [[profile.profile, sinceWords.glanceOf(profile)] as const] : []
  })
  const told = new Map(texts)
  for (const name of found.withoutEffect) told.set(name, 'settings differ, and nothing that is predicted')
  return new Map(names.map(name => [name, told.get(name) ?? 'no change']))
}

/** Compares again where the text is another by now, without git: what was read of the last commit stays. */
async function renew(session: Session, watched: Watched, uri: string): Promise<void> {
  if (watched.isRunning) return
  watched.isRunning = true
  try {
    const isStale = (): boolean => !session.open.has(uri)
    for (let view = session.service.workspace.view(uri); view !== watched.view; ) {
      watched.view = view
      await watched.now.sync([uri])
      if (!(await makeAll(watched.now.service, [uri], isStale))) return
      watched.glances = glancesOf(session, watched, uri)
      view = session.service.workspace.view(uri)
    }
  } finally {
    watched.isRunning = false
  }
}

/** The lines above profiles. They start nothing: what was looked up is compared with what is typed since. */
export function sinceLensesOf(session: Session, { uri, document, lines }: Located, shown: () => void): CodeLens[] {
  if (session.revisionOf === undefined || !session.isTrusted || !session.isInRepository(uri)) return []
  const watched = watchedIn(session).get(uri)
  if (watched !== undefined && watched.view !== session.service.workspace.view(uri)) {
    void renew(session, watched, uri).then(shown, () => undefined)
  }
  const isOurs = session.client.showsPapers
  return document.definitions.flatMap(({ kind, name, nameSpan, chunk }): CodeLens[] => {
    const base = document.starts.get(chunk)
    if (kind !== 'profile' || base === undefined) return []
    const range = lines.range({ start: base + nameSpan.start, end: base + nameSpan.end })
    const text = watched?.glances.get(name)
    const title = text === undefined ? 'Since last commit …' : `since last commit: ${text}`
    const command = isOurs ? (text === undefined ? lookUpCommand : compareCommand) : serverCommands.since
    return [{ range, command: { title: wording.visible(title), command, arguments: [clientUri(session, uri), name] } }]
  })
}

async function lookUp(session: Session, asked: unknown): Promise<LookedUp> {
  if (typeof asked !== 'string') throw new NoPaper('No file is named.')
  const file = await loaded(session, { uri: asked })
  if (file === undefined) throw new NoPaper('The file is not open here.')
  const { files, profilesBelow } = await opened(session, file.uri, lastCommit)
  const older = benchFrom(session, files)
  await older.workspace.load([file.uri])
  const then = new Set(namesIn(older, file.uri))
  // One that is not there may have stood in another file.
  if (namesIn(session.service, file.uri).some(name => !then.has(name))) {
    await older.workspace.load(await profilesBelow(file.uri.slice(0, file.uri.lastIndexOf('/') + 1)))
  }
  const all = [...older.workspace.documents()].map(({ uri }) => uri)
  await makeAll(older, all, () => false)
  const now = createShadow(session)
  const watched: Watched = { older, now, view: undefined, glances: new Map(), isRunning: false }
  watchedIn(session).set(file.uri, watched)
  await renew(session, watched, file.uri)
  return { profiles: [...watched.glances].map(([profile, text]) => ({ profile, text })) }
}

/** The whole bench around a file, or one profile of it, beside what it was. */
async function sincePaper(
  session: Session,
  asked: Asked,
  token: CancellationToken,
): Promise<{ readonly markdown: string; readonly gist: string }> {
  const { uri, profile, revision = lastCommit } = asked
  if (typeof uri !== 'string' || typeof revision !== 'string') throw new NoPaper('No file and no revision are named.')
  const names = typeof profile === 'string' ? [profile] : []
  await loadAll(session)
  const file = await loaded(session, { uri })
  if (file === undefined) throw new NoPaper('The file is not open here.')
  const { commit, files, profilesBelow, holds } = await opened(session, file.uri, revision)
  const older = benchFrom(session, files)
  const folder = placeIn(session.folders, file.uri)?.folder
  const around = [...session.open.keys(), ...session.found].filter(
    one => folder !== undefined && placeIn(session.folders, one)?.folder === folder,
  )
  const own = await Promise.all([...new Set([file.uri, ...around])].map(async one => ((await holds(one)) ? one : [])))
  const now = own.flat().toSorted()
  const then = folder === undefined ? [] : await profilesBelow(folder)
  const both = [...new Set([...now, ...then])].toSorted()
  const isStale = (): boolean => token.isCancellationRequested
  for (const one of both) {
    await older.workspace.load([one])
    if (isStale()) throw cancelled
  }
  const shadow = createShadow(session)
  await shadow.sync(now)
  const there = both.filter(one => older.workspace.document(one) !== undefined)
  const isMade = (await makeAll(older, there, isStale)) && (await makeAll(shadow.service, now, isStale))
  if (!isMade) throw cancelled
  const found = changesSince(sideOf(session, older, there), sideOf(session, shadow.service, now), names)
  const name = `${revision === lastCommit ? 'last commit' : revision} (${commit.slice(0, 8)})`
  const [only] = found.profiles
  const gist = names.length === 1 && only !== undefined ? sinceWords.glanceOf(only) : sinceWords.titleOf(found)
  return { markdown: unbroken(sinceMarkdown(found, name)), gist: `since ${name}: ${gist}` }
}

async function commitsOf(session: Session, { uri, skip }: Asked) {
  if (typeof uri !== 'string') throw new NoPaper('No file is named.')
  const file = await loaded(session, { uri })
  if (file === undefined) throw new NoPaper('The file is not open here.')
  const { commits } = await opened(session, file.uri, lastCommit)
  const from = typeof skip === 'number' && Number.isSafeInteger(skip) && skip >= 0 ? skip : 0
  const found = await commits(from, commitsOfList + 1)
  return { commits: found.slice(0, commitsOfList), isMore: found.length > commitsOfList }
}

export function since(publisher: () => Publisher): Feature {
  return {
    // Nothing of the protocol's own beside the lens: a client that knows these requests asks.
    advertise: () => ({}),
    register: session => {
      const { connection } = session
      const shown = (uri: string): void => publisher().changed([uri], undefined)
      const looked = async (uri: unknown): Promise<LookedUp> => {
        const found = await lookUp(session, uri)
        shown(normalizeUri(String(uri)))
        return found
      }
      connection.onRequest<LookedUp | Trouble | ResponseError<never>, never>(
        lookUpMethod,
        answering(session, 'Looking up the last commit', failed, (asked: Asked | null) =>
          orTrouble(() => looked(asked?.uri)),
        ),
      )
      connection.onRequest<Paper | Trouble | ResponseError<never>, never>(
        sinceMethod,
        answering(session, 'Comparing with a commit', failed, (asked: Asked | null, token) => {
          const work = {
            title: 'Comparing with a commit',
            count: () => undefined,
            given: tokenIn(asked?.workDoneToken),
          }
          return orTrouble(() => tellingOthers(session, work, () => sincePaper(session, asked ?? {}, token)))
        }),
      )
      connection.onRequest<Awaited<ReturnType<typeof commitsOf>> | Trouble | ResponseError<never>, never>(
        commitsMethod,
        answering(session, 'Listing commits', failed, (asked: Asked | null) =>
          orTrouble(() => commitsOf(session, asked ?? {})),
        ),
      )
      session.commands.set(serverCommands.since, async ([uri, profile, revision], token) => {
        const { markdown, gist } = await sincePaper(session, { uri, profile, revision }, token)
        if (revision === undefined) await looked(uri)
        say(session, wording.visible(gist))
        return markdown.replaceAll('\u00a0', ' ')
      })
    },
  }
}
