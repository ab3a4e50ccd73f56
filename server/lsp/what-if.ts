/** What statements that are written nowhere would change: beside the text of our own client, a text for others. */

import type { CompletionItem, Position, Range, ResponseError } from 'vscode-languageserver'
import {
  askForCourses,
  coursesMarkdown,
  type FieldTrouble,
  fieldCompletions,
  fieldInFile,
  inField,
  layOver,
  overlayLines,
  statementsOf,
  unbroken,
  type WhatIf,
  whatIf,
  whatIfMarkdown,
  wording,
} from '../service.ts'
import { say, serverCommands } from './commands.ts'
import type { Feature } from './feature.ts'
import { shownPath } from './folders.ts'
import { completionItem, completionTrigger } from './hover-completion.ts'
import { failed, loadAll, NoPaper, orTrouble, type Trouble } from './papers.ts'
import { linesOf } from './positions.ts'
import { telling } from './progress.ts'
import { answering, cancelled, clientUri, loaded, type Session } from './session.ts'
import { createShadow, makeAll, type Shadow } from './shadow.ts'
import { turn } from './turns.ts'

/** Asked with a file, perhaps a profile of it, the text of the field, and the names of courses to follow. */
const whatIfMethod = 'detent/whatIf'
/** The same with a position in the field: what may stand there. */
const completionMethod = 'detent/whatIfCompletion'

interface Asked {
  readonly uri?: unknown
  readonly profile?: unknown
  readonly field?: unknown
  /** Beside those that are overlaid or expected something of; `true`: all that the profiles see. */
  readonly courses?: unknown
  readonly position?: unknown
  readonly trigger?: unknown
}

interface Effect {
  readonly markdown: string
  readonly glances: readonly { readonly profile: string; readonly text: string }[]
  /** What stands beside lines of the files. */
  readonly marks: readonly { readonly uri: string; readonly line: number; readonly text: string }[]
  /** The courses that the profiles see, and whether what is said counts them. */
  readonly courses: readonly {
    readonly uri: string
    readonly name: string
    readonly range: Range
    readonly isFollowed: boolean
  }[]
}

/** Nothing is changed while the field does not read: where, and why. */
interface Unread {
  readonly unread: { readonly range: Range; readonly message: string }
}

/** The two sides, kept while the session lasts: only what changes in between is worked out again. */
interface Sides {
  readonly now: Shadow
  readonly overlaid: Shadow
}

/** The files whose profiles are asked about: the file itself, else those that use it. */
async function filesOf(session: Session, uri: string): Promise<readonly string[]> {
  const { workspace } = session.service
  const has = (one: string): boolean =>
    workspace.document(one)?.definitions.some(({ kind }) => kind === 'profile') === true
  if (has(uri)) return [uri]
  await loadAll(session)
  return workspace.usersOf(uri).filter(has).toSorted()
}

function unread(field: string, trouble: FieldTrouble): Unread {
  return { unread: { range: linesOf({ text: field }).range(trouble), message: wording.visible(trouble.message) } }
}

async function effectOf(
  session: Session,
  { now, overlaid }: Sides,
  { uri, profile, field, courses: more }: Asked,
  isStale: () => boolean,
): Promise<WhatIf | Unread | undefined> {
  if (typeof uri !== 'string' || typeof field !== 'string') throw new NoPaper('No file and no statement are named.')
  await session.scanned
  const file = await loaded(session, { uri })
  if (file === undefined) throw new NoPaper('The file is not open here.')
  const uris = await filesOf(session, file.uri)
  if (uris.length === 0) throw new NoPaper('There is no profile in this file, or in one that uses it.')
  const names = typeof profile === 'string' ? [profile] : []
  const [name] = names
  const isThere = file.document.definitions.some(one => one.kind === 'profile' && one.name === name)
  if (name !== undefined && !isThere) throw new NoPaper(`There is no profile ${name} in its file any more.`)
  await now.sync(uris)
  await overlaid.sync(uris)
  // From here to the end of the layer nothing waits, so that no other request comes between.
  const laid = inField(field, overlays => {
    layOver(overlaid.service.workspace, overlays, uris, names)
    return overlays.flatMap(({ definition }) => (definition?.kind === 'course' ? [definition.name] : []))
  })
  if ('trouble' in laid) return unread(field, laid.trouble)
  const sides = [now, overlaid].map(({ service }) => {
    const evaluations = uris.flatMap(one => service.evaluations(one))
    const asked = evaluations.filter(one => names.length === 0 || names.includes(one.profile.definition.name))
    return { service, asked }
  })
  const wanted = sides.flatMap(({ service, asked }) =>
    asked.flatMap(one => [
      ...service.expectations(one).flatMap(({ course }) => course ?? []),
      ...one.profile.courses.map(course => course.name).filter(own => more === true || isNamed(more, own)),
    ]),
  )
  const courses = [...new Set([...laid.done, ...wanted])]
  for (const { asked } of sides) askForCourses(asked, courses)
  for (const { service } of [now, overlaid]) if (!(await makeAll(service, uris, isStale))) return undefined
  const files = uris.map(one => ({ uri: one, name: shownPath(session, one) }))
  return whatIf({ ...now.service, files }, { ...overlaid.service, files }, names, courses)
}

const isNamed = (names: unknown, name: string): boolean => Array.isArray(names) && names.includes(name)

/** The whole work, one at a time: a later one waits for an earlier one, which ends where nobody waits for it. */
function createWork(session: Session): (asked: Asked, isStale: () => boolean) => Promise<WhatIf | Unread | undefined> {
  let sides: Sides | undefined
  let last: Promise<unknown> = Promise.resolve()
  return (asked, isStale) => {
    const next = last.then(async () => {
      await turn('asked')
      if (isStale()) return undefined
      sides ??= { now: createShadow(session), overlaid: createShadow(session) }
      return effectOf(session, sides, asked, isStale)
    })
    last = next.catch(() => undefined)
    return next
  }
}

function told(session: Session, field: string, { found, glances, marks, courses, seen }: WhatIf): Effect {
  const lines = overlayLines(statementsOf(field).map(({ text }) => text))
  return {
    markdown: unbroken(whatIfMarkdown(found, lines, coursesMarkdown(courses))),
    glances: glances.map(({ profile, text }) => ({ profile, text: wording.visible(text) })),
    marks: marks.flatMap(({ uri, offset, text }) => {
      const document = session.service.workspace.document(uri)
      if (document === undefined) return []
      const { line } = linesOf(document.source).position(offset)
      return [{ uri: clientUri(session, uri), line, text: wording.visible(text) }]
    }),
    courses: seen.flatMap(({ uri, name, isFollowed, ...span }) => {
      const document = session.service.workspace.document(uri)
      if (document === undefined) return []
      return [{ uri: clientUri(session, uri), name, range: linesOf(document.source).range(span), isFollowed }]
    }),
  }
}

async function itemsOf(session: Session, shadow: Shadow, asked: Asked): Promise<CompletionItem[]> {
  const { uri, profile, field } = asked
  if (typeof uri !== 'string' || typeof field !== 'string') return []
  const file = await loaded(session, { uri })
  if (file === undefined) return []
  await shadow.sync([file.uri])
  const { workspace, features } = shadow.service
  const offset = linesOf({ text: field }).offset((asked.position ?? { line: 0, character: 0 }) as Position)
  const name = typeof profile === 'string' ? profile : undefined
  const made = fieldInFile(file.document.source.text, name, field, offset)
  workspace.set(file.uri, made.text, -offset - 1)
  const found = fieldCompletions(
    made,
    (at, trigger) => features.completions(file.uri, at, trigger),
    completionTrigger(asked.trigger),
  )
  const lines = linesOf({ text: field })
  return found.map((one, index) => completionItem(session, lines, one, index))
}

export const whatIfs: Feature = {
  // Nothing of the protocol's own: a client that knows these requests asks.
  advertise: () => ({}),
  register: session => {
    const { connection } = session
    const work = createWork(session)
    let completing: Shadow | undefined
    connection.onRequest<Effect | Unread | Trouble | ResponseError<never>, never>(
      whatIfMethod,
      answering(
        session,
        'What If',
        failed,
        (given: Asked | null, token) =>
          orTrouble(async () => {
            const asked = given ?? {}
            const found = await work(asked, () => token.isCancellationRequested)
            if (found === undefined) throw cancelled
            return 'unread' in found ? found : told(session, String(asked.field), found)
          }),
        'asked',
      ),
    )
    connection.onRequest<CompletionItem[] | ResponseError<never>, never>(
      completionMethod,
      answering(session, 'Completion', [], (asked: Asked | null) => {
        completing ??= createShadow(session)
        return itemsOf(session, completing, asked ?? {})
      }),
    )
    session.commands.set(serverCommands.whatIf, async ([uri, profile, ...statements], token) => {
      const field = statements.map(String).join('\n')
      if (field.trim() === '') throw new NoPaper('No statement is given.')
      const title = 'Working out what would change'
      const found = await telling(session, { title, count: () => undefined }, () =>
        work({ uri, profile, field, courses: true }, () => token.isCancellationRequested),
      )
      if (found === undefined) throw cancelled
      if ('unread' in found) {
        const { range, message } = found.unread
        throw new NoPaper(`line ${range.start.line + 1}, column ${range.start.character + 1}: ${message}`)
      }
      const { markdown, glances } = told(session, field, found)
      say(session, `what if: ${glances.map(({ profile: name, text }) => `${name}: ${text}`).join('; ')}. Not written.`)
      return markdown.replaceAll('\u00a0', ' ')
    })
  },
}
