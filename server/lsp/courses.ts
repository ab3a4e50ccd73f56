/** The way from a course to what it comes to: the charts of our own client, a text for others. */

import type { CancellationToken, CodeAction, CodeLens, Range } from 'vscode-languageserver'
import {
  type CourseProgress,
  courseGlance,
  courseMarkdown,
  followAllInSlices,
  profilesOn,
  wording,
} from '../service.ts'
import { say, serverCommands } from './commands.ts'
import { finishedInSlices } from './extent.ts'
import type { Feature } from './feature.ts'
import { isWorkedOn } from './folders.ts'
import { showBeside } from './hover-completion.ts'
import { loadAll, NoPaper } from './papers.ts'
import { telling } from './progress.ts'
import { cancelled, clientUri, type Located, loaded, type Session } from './session.ts'
import { showKind } from './small-changes.ts'

/** Above courses, for clients that show a text. */
export function courseLensesOf(session: Session, { uri, lines }: Located): CodeLens[] {
  return session.service.features.courseLenses(uri).map(lens => ({
    range: lines.range(lens),
    command: { title: 'Follow', command: serverCommands.course, arguments: [clientUri(session, uri), lens.course] },
  }))
}

/** On a course's name. */
export function courseActions(session: Session, file: Located, range: Range): CodeAction[] {
  if (!isWorkedOn(session, file.uri)) return []
  const { start, end } = file.lines.span(range)
  const uri = clientUri(session, file.uri)
  return session.service.features.courseLenses(file.uri).flatMap((lens): CodeAction[] => {
    if (start > lens.end || end < lens.start) return []
    const { showsPictures } = session.client
    const title = `${showsPictures ? 'Show the charts of course' : 'Follow course'} ${lens.course}`
    const command = showsPictures
      ? { title, command: showBeside, arguments: [uri, file.lines.range(lens).start] }
      : { title, command: serverCommands.course, arguments: [uri, lens.course] }
    return [{ title, kind: showKind, command }]
  })
}

/** Follows a course on the first profile that sees it and is predicted, or on the one that is named. */
async function followed(
  session: Session,
  [uri, name, profile]: readonly unknown[],
  token: CancellationToken,
): Promise<{ readonly markdown: string; readonly gist: string }> {
  if (typeof uri !== 'string' || typeof name !== 'string') throw new NoPaper('No course is named.')
  await loadAll(session)
  const file = await loaded(session, { uri })
  const { workspace } = session.service
  const view = file && workspace.view(file.uri)
  const course = file?.document.definitions.find(one => one.kind === 'course' && one.name === name)
  if (view === undefined || course === undefined) throw new NoPaper(`There is no course ${name} in its file any more.`)
  const seeing = profilesOn(workspace, view, course)
  const evaluation =
    typeof profile === 'string'
      ? seeing.find(one => one.profile.definition.name === profile)
      : (seeing.find(({ input }) => input.bench !== undefined) ?? seeing[0])
  if (evaluation === undefined) {
    throw new NoPaper(`No profile ${typeof profile === 'string' ? `${profile} ` : ''}sees course ${name}.`)
  }
  let at: CourseProgress | undefined
  const minutes = (s: number): number => Math.ceil(s / 60)
  const work = {
    title: `Following course ${name}`,
    count: () =>
      at && {
        done: minutes((at.corner - 1) * at.longestS + at.passedS),
        of: minutes(at.corners * at.longestS),
        what: 'minute',
      },
  }
  const found = await telling(session, work, () =>
    finishedInSlices(
      followAllInSlices(evaluation, course, {
        tell: progress => {
          at = progress
        },
      }),
      () => {
        if (token.isCancellationRequested) throw cancelled
      },
    ),
  )
  const own = evaluation.profile.definition.name
  if (found.undecided !== undefined) throw new NoPaper(`Course ${name} is not followed on ${own}: ${found.undecided}.`)
  return { markdown: courseMarkdown(found), gist: `course ${name} on ${own}: ${courseGlance(found.at)}` }
}

export const courses: Feature = {
  // Nothing of the protocol's own beside lens, action and command.
  advertise: () => ({}),
  register: session => {
    session.commands.set(serverCommands.course, async (given, token) => {
      const { markdown, gist } = await followed(session, given, token)
      say(session, wording.visible(gist))
      return markdown.replaceAll('\u00a0', ' ')
    })
  },
}
