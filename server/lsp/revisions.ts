/** The revisions that runs name are looked up where a person asks, since that starts git: never by opening or typing. */

import type { CodeLens, ResponseError } from 'vscode-languageserver'
import { type LoadOptions, runsToLookUp, wording } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import { serverCommands } from './commands.ts'
import type { Publisher } from './diagnostics.ts'
import type { Feature } from './feature.ts'
import { failed, NoPaper, orTrouble, type Trouble } from './papers.ts'
import { answering, clientUri, guarded, type Located, loaded, type Session } from './session.ts'

/** Asked with a file: looks up the revisions that its runs name. */
const lookUpMethod = 'detent/lookUpRevisions'
/** Our own client says that the person trusts the workspace by now. */
const trustMethod = 'detent/trust'
/** Our own client's. */
const clientCommand = 'detent.lookUpRevisions'

export const notTrusted = 'This workspace is not trusted: git is not started in it.'

/** Whether revisions are looked up where what a person asked for rests on them. */
export function revisionsFor(session: Session): NonNullable<LoadOptions['revisions']> {
  return session.revisionOf !== undefined && session.isTrusted ? 'look-up' : 'as-known'
}

interface LookedUp {
  /** Runs that name a revision, and how many of those could not be read. */
  readonly runs: number
  readonly notHad: number
}

export function revisionLensesOf(session: Session, { uri, lines }: Located): CodeLens[] {
  if (session.revisionOf === undefined) return []
  const command = session.client.looksUpRevisions ? clientCommand : serverCommands.lookUpRevisions
  return runsToLookUp(session.service.workspace, session.service.bench, uri).map(({ revision, start, end }) => ({
    range: lines.range({ start, end }),
    command: session.isTrusted
      ? { title: wording.visible(`Look up revision ${revision}`), command, arguments: [clientUri(session, uri)] }
      : { title: wording.visible(`Revision ${revision} is not looked up: the workspace is not trusted`), command: '' },
  }))
}

export function revisions(publisher: () => Publisher): Feature {
  return {
    // Nothing of the protocol's own: there is a request, and a command of the server.
    advertise: () => ({}),
    register: session => {
      const { connection, service } = session
      /** One at a time for a file: whoever asks meanwhile gets the same answer. Each goes when it is answered. */
      const running = new Map<string, Promise<LookedUp | Trouble>>()
      const lookUp = async (asked: string): Promise<LookedUp> => {
        if (session.revisionOf === undefined) throw new NoPaper('Older revisions cannot be read here.')
        if (!session.isTrusted) throw new NoPaper(notTrusted)
        const file = await loaded(session, { uri: asked })
        if (file === undefined) throw new NoPaper('The file is not open here.')
        await service.bench.lookUpRevisions(file.uri, 'own')
        publisher().changed([file.uri], undefined)
        const named = service.bench.compared(file.uri).filter(({ settings }) => settings.from !== 'now')
        return { runs: named.length, notHad: named.filter(({ settings }) => settings.from === 'not-had').length }
      }
      const once = (uri: unknown): Promise<LookedUp | Trouble> => {
        if (typeof uri !== 'string') return Promise.resolve({ trouble: 'No file is named.' })
        const key = normalizeUri(uri)
        const before = running.get(key)
        if (before !== undefined) return before
        const started = orTrouble(() => lookUp(uri)).finally(() => running.delete(key))
        running.set(key, started)
        return started
      }
      connection.onRequest<LookedUp | Trouble | ResponseError<never>, never>(
        lookUpMethod,
        answering(session, 'Looking up revisions', failed, (asked: { readonly uri?: unknown } | null) =>
          once(asked?.uri),
        ),
      )
      session.commands.set(serverCommands.lookUpRevisions, async ([uri]) => {
        const found = await once(uri)
        if ('trouble' in found) throw new NoPaper(found.trouble)
        return null
      })
      connection.onNotification(
        trustMethod,
        guarded(session, 'Noting the trust', (told: { readonly isTrusted?: unknown } | null) => {
          session.isTrusted = told?.isTrusted === true
          publisher().changed(session.open.keys(), undefined)
        }),
      )
    },
  }
}
