/** What stands beside and behind the text: figures at the lines, verdicts above profiles. */

import { type CodeLens, type InlayHint, MarkupKind } from 'vscode-languageserver'
import type { TextDocument } from 'vscode-languageserver-textdocument'
import type { Hint } from '../features/hints.ts'
import type { Lens } from '../features/lenses.ts'
import { courseLensesOf } from './courses.ts'
import type { Publisher } from './diagnostics.ts'
import { trialLensesOf } from './evidence.ts'
import { prepareInSlices, seenIn } from './extent.ts'
import type { Feature } from './feature.ts'
import { showBeside } from './hover-completion.ts'
import { revisionLensesOf } from './revisions.ts'
import { answering, answeringFor, clientUri, type Located, type Session } from './session.ts'
import { sinceLensesOf } from './since.ts'
import { createSlices } from './turns.ts'

/**
 * What was shown last of a document while all that it rests on read, so that nothing comes, goes or changes while a
 * line is being typed; evicted when the document is closed.
 */
function createMemory<T extends { readonly settled: boolean }>(): (
  document: TextDocument | undefined,
  key: string,
  now: T,
) => T {
  const shown = new WeakMap<TextDocument, Map<string, T>>()
  return (document, key, now) => {
    if (document === undefined) return now
    const known = shown.get(document) ?? new Map<string, T>()
    shown.set(document, known)
    if (!now.settled) return known.get(key) ?? now
    known.set(key, now)
    return now
  }
}

/** What a hint is found again by. */
interface HintData extends Pick<Hint, 'kind' | 'key'> {
  readonly uri: string
}

function tooltipOf({ service }: Session, data: HintData): Pick<InlayHint, 'tooltip'> {
  const value = service.features.hintText(data.uri, data)
  return value === undefined ? {} : { tooltip: { kind: MarkupKind.Markdown, value } }
}

export const inlayHints: Feature = {
  advertise: client =>
    client.takesInlayHints ? { inlayHintProvider: { resolveProvider: client.resolvesInlayHints } } : undefined,
  register: session => {
    const remember = createMemory<Hint>()
    session.connection.languages.inlayHint.on(
      answeringFor(
        session,
        'Figures beside the text',
        null,
        async (file, { range }) => {
          const settings = await session.settingsOf(file.uri)
          const { start, end } = file.lines.span(range)
          session.seen.set(file.uri, { start, end })
          return session.service.features.hints(file.uri, { start, end }).flatMap((hint): InlayHint[] => {
            const wanted = hint.kind === 'clock' ? settings.predictedClockHints : settings.dewPointHints
            const { label } = remember(session.open.get(file.uri), `${hint.kind} ${hint.key}`, hint)
            if (!wanted || label === undefined || hint.offset < start || hint.offset > end) return []
            return [
              {
                position: file.lines.position(hint.offset),
                label,
                paddingLeft: true,
                ...(session.client.resolvesInlayHints
                  ? { data: { uri: file.uri, kind: hint.kind, key: hint.key } satisfies HintData }
                  : tooltipOf(session, { uri: file.uri, kind: hint.kind, key: hint.key })),
              },
            ]
          })
        },
        'shown',
      ),
    )
    if (!session.client.resolvesInlayHints) return
    session.connection.languages.inlayHint.resolve((hint, token) =>
      answering(session, 'Figures beside the text', hint, () => {
        const data = hint.data as HintData | undefined
        return data === undefined ? hint : { ...hint, ...tooltipOf(session, data) }
      })(hint, token),
    )
  },
}

/** Our own client's command, which goes to the expectations of a profile. */
const showExpectations = 'detent.showExpectations'

/** Our own client's command, which opens a profile with all that it starts from. */
const showResolved = 'detent.showResolvedProfile'

/** Ways to all settings of profiles that start from others, for the one client that can go there. */
function resolvedLensesOf(session: Session, { uri, lines }: Located): CodeLens[] {
  if (!session.client.showsResolved) return []
  return session.service.features.resolvedLenses(uri).map(lens => ({
    range: lines.range(lens),
    command: {
      title: 'Show the resolved profile',
      command: showResolved,
      arguments: [clientUri(session, uri), lens.profile],
    },
  }))
}

function chartLensesOf(session: Session, file: Located): CodeLens[] {
  const { uri, lines } = file
  if (!session.client.showsPictures) return courseLensesOf(session, file)
  return session.service.features.chartLenses(uri).map(lens => {
    const range = lines.range(lens)
    const title = 'Charts'
    return { range, command: { title, command: showBeside, arguments: [clientUri(session, uri), range.start] } }
  })
}

export const lenses = (publisher: () => Publisher): Feature => ({
  advertise: client => (client.takesCodeLenses ? { codeLensProvider: { resolveProvider: false } } : undefined),
  register: session => {
    const remember = createMemory<Lens>()
    session.connection.onCodeLens(
      answeringFor(
        session,
        'Verdicts above profiles',
        null,
        async (file, _params, token) => {
          const wanted = await session.settingsOf(file.uri)
          const isStale = (): boolean => token.isCancellationRequested
          const seen = seenIn(session, file.uri)
          await prepareInSlices(session.service, file.uri, createSlices('shown'), isStale, seen)
          if (token.isCancellationRequested) return null
          const resolved = wanted.resolvedProfileLenses ? resolvedLensesOf(session, file) : []
          const trials = wanted.trialLenses ? await trialLensesOf(session, file) : []
          const charts = wanted.chartLenses ? chartLensesOf(session, file) : []
          const shown = (): void => publisher().changed([file.uri], undefined)
          const older = wanted.sinceLenses ? sinceLensesOf(session, file, shown) : []
          const others = [...resolved, ...trials, ...revisionLensesOf(session, file), ...charts, ...older]
          if (!wanted.expectationLenses) return others
          const verdicts = session.service.features.lenses(file.uri).map((lens): CodeLens => {
            const { text } = remember(session.open.get(file.uri), lens.profile, lens)
            const title = text ?? 'Expectations: not predicted yet'
            // Without a command the title is shown as it is.
            const command = session.client.showsExpectations
              ? { title, command: showExpectations, arguments: [clientUri(session, file.uri), lens.profile] }
              : { title, command: '' }
            return { range: file.lines.range(lens), command }
          })
          return [...verdicts, ...others]
        },
        'shown',
      ),
    )
  },
})
