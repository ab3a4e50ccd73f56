/** Pictures beside the text, for our own client: asked with a place, answered with what belongs there. */
import type { Range, ResponseError, WorkspaceEdit } from 'vscode-languageserver'
import {
  type AskedView,
  chartStyle,
  csvText,
  type ShownView,
  subjectAt,
  svgElement,
  svgFile,
  type ViewKind,
  viewInSlices,
  whatIfEdits,
  wording,
} from '../service.ts'
import { besideOlder, hasCommits } from './beside-older.ts'
import { workspaceEdit } from './editing.ts'
import type { Feature } from './feature.ts'
import { placeOf } from './hover-completion.ts'
import { failed, orTrouble, type Trouble } from './papers.ts'
import { linesOf } from './positions.ts'
import { withPreview } from './reach.ts'
import { answering, cancelled, clientUri, loaded, type Session } from './session.ts'
import { createSlices } from './turns.ts'

/** Asked with a place, how large the picture may be, and what to show in place of what stands there. */
const viewMethod = 'detent/view'

/** The size that a picture may have, in its own units. */
const bounds = { least: 240, most: 4000 }

interface ViewMark {
  readonly sentence: string
  /** Where the line stands that decides it. */
  readonly target?: { readonly uri: string; readonly range: Range }
}

type View =
  | {
      readonly kind: ViewKind
      readonly profile: string
      readonly load: string | null
      readonly loads: readonly string[]
      /** Of a map: the profiles whose edges it may have beside its own. */
      readonly others: readonly string[]
      /** Of a map: whether it may have its own edges as they were at a commit. */
      readonly commits: boolean
      readonly title: string
      /** Of a growing log: where it settles, whether it leaves its prediction, what limit is near. Else what is not drawn. */
      readonly notice: string | null
      /** Present where what takes long is not in it yet: it is in the answer to one more request, with `shown`, its title. */
      readonly isFirst?: true
      readonly svg: string
      readonly style: string
      readonly marks: readonly ViewMark[]
      readonly head: readonly string[]
      readonly rows: readonly (readonly (string | number | null)[])[]
    }
  /** The picture or its figures as a file. */
  | { readonly text: string; readonly title: string }
  /** The sliders as lines of the file, to be shown before they are written. */
  | { readonly edit: WorkspaceEdit }
  /** Why nothing new is shown, or null where no picture belongs to the place. */
  | { readonly waits: string | null }

type Unknown = Readonly<Record<string, unknown>>

function numberIn(value: unknown, least: number, most: number): number | undefined {
  return typeof value === 'number' && Number.isFinite(value) ? Math.min(most, Math.max(least, value)) : undefined
}

function askedOf(given: Unknown): Omit<AskedView, 'size' | 'against'> & { readonly against: string | undefined } {
  const whatIf = (given.whatIf ?? {}) as Unknown
  const { kind, load, shown, against } = given
  return {
    kind: kind === 'map' || kind === 'cooling' || kind === 'ledger' ? kind : undefined,
    load: typeof load === 'string' ? load : undefined,
    shown: typeof shown === 'string' ? shown : undefined,
    against: typeof against === 'string' ? against : undefined,
    whatIf: {
      airC: numberIn(whatIf.airC, -60, 80),
      humidityPct: numberIn(whatIf.humidityPct, 1, 100),
      fanPct: numberIn(whatIf.fanPct, 0, 100),
    },
  }
}

function marksOf(session: Session, { picture }: ShownView): readonly ViewMark[] {
  return picture.marks.map(({ sentence, place }) => {
    const document = place && session.service.workspace.document(place.uri)
    if (place === undefined || document === undefined) return { sentence }
    return { sentence, target: { uri: clientUri(session, place.uri), range: linesOf(document.source).range(place) } }
  })
}

function answerOf(session: Session, uri: string, view: ShownView, as: unknown): View {
  const { picture, kind, profile, load, loads, others, notice, isFirst } = view
  if (as === 'svg') return { text: svgFile(picture), title: picture.title }
  if (as === 'csv') return { text: csvText(picture.figures), title: picture.title }
  const { title, figures } = picture
  return {
    ...{ kind, profile, load: load ?? null, loads, others, title },
    notice: notice === undefined ? null : wording.visible(notice),
    commits: kind === 'map' && hasCommits(session, uri),
    ...(isFirst ? { isFirst } : {}),
    ...{ svg: svgElement(picture), style: chartStyle, marks: marksOf(session, view) },
    ...{ head: figures.head, rows: figures.rows },
  }
}

export const views: Feature = {
  // Nothing of the protocol's own: a client that knows the request asks.
  advertise: () => ({}),
  register: session => {
    session.connection.onRequest<View | Trouble | ResponseError<never>, never>(
      viewMethod,
      answering(
        session,
        'Drawing a view',
        failed,
        (params: unknown, token) =>
          orTrouble(async (): Promise<View> => {
            const given = (params ?? {}) as Unknown
            const { textDocument, position } = placeOf(given)
            const file = await loaded(session, textDocument)
            if (file === undefined) return { waits: null }
            const { service } = session
            const offset = file.lines.offset(position)
            const line = {
              start: file.lines.offset({ ...position, character: 0 }),
              end: file.lines.offset({ line: position.line + 1, character: 0 }),
            }
            // A panel asks as the person types and points: that starts no git.
            if (session.readsLogs()) await service.bench.loadLogs(file.uri)
            const subject = subjectAt(service.workspace, service.bench, file.uri, offset)
            if (subject === undefined) return { waits: null }
            if (given.as === 'edit') {
              const edits = whatIfEdits(service.workspace, subject.evaluation, askedOf(given).whatIf ?? {})
              if (edits === undefined) return { waits: 'Nothing is written: move a slider first.' }
              return { edit: withPreview(session, workspaceEdit(session, edits), 'Conditions of the sliders') }
            }
            const slices = createSlices('asked')
            const size = {
              width: Math.round(numberIn(given.width, bounds.least, bounds.most) ?? 760),
              height: Math.round(numberIn(given.height, bounds.least, bounds.most) ?? 480),
              isHere: (place: { readonly uri: string; readonly start: number; readonly end: number }) =>
                place.uri === file.uri && place.start < Math.max(line.end, line.start + 1) && place.end >= line.start,
            }
            const asked = askedOf(given)
            // A commit stands behind `@`, as in a call of the command.
            const commit = /^@(.+)$/.exec(asked.against ?? '')?.[1]
            const against = commit === undefined ? asked.against : besideOlder(session, file.uri, subject, commit)
            const making = viewInSlices(service.workspace, service.bench, file.uri, subject, {
              ...asked,
              against,
              size,
            })
            for (;;) {
              const step = making.next()
              if (step.done === true)
                return 'waits' in step.value ? step.value : answerOf(session, file.uri, step.value, given.as)
              await slices.rest()
              if (token.isCancellationRequested) throw cancelled
            }
          }),
        'asked',
      ),
    )
  },
}
