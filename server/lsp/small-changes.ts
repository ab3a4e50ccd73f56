/** What small changes would do to a profile, and what to measure next: a paper of our own client, a text for others. */

import type { CodeAction, CodeActionKind, Range, ResponseError } from 'vscode-languageserver'
import { type PerProfile, perInSlices, perMarkdown, perWords, unbroken, wording } from '../service.ts'
import { definitionsIn } from '../workspace/workspace.ts'
import { say, serverCommands } from './commands.ts'
import { finishedInSlices } from './extent.ts'
import type { Feature } from './feature.ts'
import { isWorkedOn } from './folders.ts'
import { failed, NoPaper, orTrouble, type Paper, type Trouble } from './papers.ts'
import { answering, clientUri, type Located, loaded, type Session } from './session.ts'

/** Asked with a file and a profile of it. */
const smallChangesMethod = 'detent/smallChanges'
/** Our own client's command, which shows the paper. */
const showSmallChanges = 'detent.showSmallChanges'

/** What only shows something: no fix, and it rewrites nothing. */
export const showKind: CodeActionKind = 'detent.show'

async function changesOf(session: Session, uri: unknown, name: unknown): Promise<PerProfile> {
  if (typeof uri !== 'string' || typeof name !== 'string') throw new NoPaper('No profile is named.')
  await session.scanned
  const file = await loaded(session, { uri })
  const evaluation =
    file && session.service.evaluations(file.uri).find(({ profile }) => profile.definition.name === name)
  if (evaluation === undefined) throw new NoPaper(`There is no profile ${name} in its file any more.`)
  const obstacle = wording.obstacleText(evaluation)
  if (obstacle !== undefined) throw new NoPaper(`Profile ${name} is not predicted: ${obstacle}.`)
  return finishedInSlices(perInSlices(evaluation))
}

async function markdownOf(session: Session, uri: unknown, name: unknown): Promise<{ text: string; gist: string }> {
  const { loads, shares } = await changesOf(session, uri, name)
  const next = perWords.measureNext(shares)
  return { text: perMarkdown(String(name), loads, next), gist: perWords.gistText(String(name), loads, next) }
}

/** On a profile's name: the way to its table. */
export function smallChangeActions(session: Session, file: Located, range: Range): CodeAction[] {
  if (!isWorkedOn(session, file.uri)) return []
  const { start, end } = file.lines.span(range)
  const command = session.client.showsPapers ? showSmallChanges : serverCommands.smallChanges
  return definitionsIn(file.document, { start, end }).flatMap(({ kind, name, nameSpan, chunk }): CodeAction[] => {
    const base = file.document.starts.get(chunk)
    if (kind !== 'profile' || base === undefined) return []
    if (start > base + nameSpan.end || end < base + nameSpan.start) return []
    const title = `Show what small changes of ${name} would do`
    return [{ title, kind: showKind, command: { title, command, arguments: [clientUri(session, file.uri), name] } }]
  })
}

export const smallChanges: Feature = {
  // Nothing of the protocol's own beside the action: a client that knows the request asks.
  advertise: () => ({}),
  register: session => {
    session.connection.onRequest<Paper | Trouble | ResponseError<never>, never>(
      smallChangesMethod,
      answering(
        session,
        'Working out small changes',
        failed,
        (asked: { readonly uri?: unknown; readonly profile?: unknown } | null) =>
          orTrouble(async () => ({ markdown: unbroken((await markdownOf(session, asked?.uri, asked?.profile)).text) })),
        'asked',
      ),
    )
    session.commands.set(serverCommands.smallChanges, async ([uri, profile]) => {
      const { text, gist } = await markdownOf(session, uri, profile)
      say(session, wording.visible(gist))
      return text
    })
  },
}
