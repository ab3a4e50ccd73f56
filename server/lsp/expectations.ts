/** Expectations for editors that show them as tests: judged as `detent check` judges them. */

import type { CancellationToken, Range } from 'vscode-languageserver'
import type { ExpectationLine } from '../features/expectations.ts'
import { wording } from '../service.ts'
import { normalizeUri } from '../workspace/files.ts'
import type { Feature } from './feature.ts'
import type { Lines } from './positions.ts'
import { answering, cancelled, clientUri, located, type Session } from './session.ts'
import { createSlices, type Slices, turn } from './turns.ts'

/** Asked by our own client: every expectation of these files, or of all files of the folders. */
const expectationsMethod = 'detent/expectations'
/** Sent to our own client: the expectations of these files may come to something else now. */
const expectationsChangedMethod = 'detent/expectationsChanged'

interface Asked {
  readonly uris?: readonly string[]
}

interface ToldExpectation {
  readonly profile: string
  readonly profileRange: Range
  /** The line without `expect`. */
  readonly text: string
  /** Where it stands in the asked file: at its line, or where the profile starts from another that states it. */
  readonly range: Range
  /** What it is about, whatever is asked of it: load, figure and comparison. */
  readonly about: string
  /** `at least 4.7 GHz` */
  readonly expected: string
  /** `4.653 GHz`; absent where there is no figure. */
  readonly figure?: string
  /** The figure that decides, in `unit`, unrounded; null where there is none. */
  readonly predicted: number | null
  readonly unit: string
  /** Null where it cannot be decided. */
  readonly holds: boolean | null
  /** It rests on a run over time that is being made; another message tells when it is there. */
  readonly pending?: true
  /** That it holds, where constants carry `±`: a share, and as `83.1 %`. */
  readonly probability?: number
  readonly chance?: string
  /** Why it does not hold or is undecided. */
  readonly message?: string
}

interface ToldFile {
  readonly uri: string
  readonly expectations: readonly ToldExpectation[]
}

function told(
  profileRange: Range,
  lines: Lines,
  line: ExpectationLine,
  probability: number | undefined,
): ToldExpectation {
  const { evaluation, expectation, predicted } = line
  const { text, unit, holds, pending } = expectation
  const message = pending ? undefined : line.why()
  return {
    profile: evaluation.profile.definition.name,
    profileRange,
    text,
    range: lines.range(line.at),
    about: line.about,
    expected: line.expected,
    ...(predicted === undefined ? {} : { figure: predicted }),
    predicted: expectation.predicted,
    unit,
    holds,
    ...(pending ? { pending } : {}),
    ...(probability === undefined ? {} : { probability, chance: wording.percentText(probability * 100) }),
    ...(message === undefined ? {} : { message }),
  }
}

/** Probabilities take thousands of predictions: whatever is typed or asked comes between, and stale ones are let be. */
async function probabilityOf(
  { service }: Session,
  { evaluation, expectation }: ExpectationLine,
  slices: Slices,
  isStale: () => boolean,
): Promise<number | undefined> {
  for (const work = service.probabilityInSlices(evaluation, expectation); !isStale(); await slices.rest()) {
    const { done, value } = work.next()
    if (done === true) return value
  }
  return undefined
}

async function expectationsIn(session: Session, uri: string, token: CancellationToken): Promise<ToldFile> {
  const file = located(session, uri)
  if (file === undefined) return { uri: clientUri(session, uri), expectations: [] }
  const slices = createSlices('folders')
  const isStale = (): boolean =>
    token.isCancellationRequested || session.service.workspace.document(file.uri) !== file.document
  const expectations: ToldExpectation[] = []
  for (const line of session.service.features.expectations(file.uri)) {
    const { definition } = line.evaluation.profile
    const base = file.document.starts.get(definition.chunk) ?? 0
    const { start, end } = definition.nameSpan
    const probability = await probabilityOf(session, line, slices, isStale)
    expectations.push(told(file.lines.range({ start: base + start, end: base + end }), file.lines, line, probability))
  }
  return { uri: clientUri(session, file.uri), expectations }
}

/** Files that the client may ask about: open ones and those of its folders. */
function knownFiles(session: Session): ReadonlySet<string> {
  return new Set([...session.open.keys(), ...session.found])
}

async function answer(session: Session, asked: Asked, token: CancellationToken): Promise<readonly ToldFile[]> {
  await session.scanned
  const known = knownFiles(session)
  const wanted = Array.isArray(asked?.uris) ? asked.uris.map(uri => normalizeUri(String(uri))) : [...known].sort()
  const answers: ToldFile[] = []
  for (const uri of wanted) {
    // One file a turn, so that what a person types meanwhile is heard and answered first.
    await turn('folders')
    if (token.isCancellationRequested) throw cancelled
    if (known.has(uri)) await session.service.workspace.load([uri])
    answers.push(await expectationsIn(session, uri, token))
  }
  session.background.wake()
  return answers
}

export const expectations: Feature = {
  // Nothing of the protocol's own: a client that wants it says so when it introduces itself.
  advertise: client => (client.showsExpectations ? {} : undefined),
  register: session => {
    session.connection.onRequest(
      expectationsMethod,
      answering(session, 'Judging expectations', [], (asked: Asked, token) => answer(session, asked, token)),
    )
    session.changed.add(uris => {
      const told = { uris: uris.map(uri => clientUri(session, uri)) }
      void session.connection.sendNotification(expectationsChangedMethod, told)
    })
  },
}
