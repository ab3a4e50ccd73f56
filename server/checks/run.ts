/** Runs the checks over a file and its profiles, and merges what they find into one sorted set. */

import { keptWhile, onceFor } from '../../grammar/once.ts'
import type { Chunk } from '../../grammar/tree.ts'
import { type Allow, type Definition, readChunk } from '../semantic/definitions.ts'
import { doubtedCode, doubtedOf } from '../semantic/doubted.ts'
import { type Evaluation, evaluate } from '../semantic/evaluate.ts'
import { unreadOf } from '../semantic/unread.ts'
import { withShortQuotes } from '../wording/quoted.ts'
import { alongEdits } from '../workspace/along-edits.ts'
import { type Document, type FileView, isWhole } from '../workspace/workspace.ts'
import { withoutDisagreement } from './agreement.ts'
import {
  findOwnInProfile,
  type Hit,
  type Hits,
  lookedUpOnce,
  noAllows,
  profilesIn,
  restsOfProfiles,
  standsIn,
  withCode,
} from './in-profile.ts'
import { allowUnused, unusedAllow } from './language/allow-unused.ts'
import { pageOf } from './page.ts'
import { checks, findCheck } from './registry.ts'
import type { BenchFacts, Check, Finding, Found, Severity } from './types.ts'

export type Severities = Readonly<Record<string, Severity | 'off'>>

/** What is found in one chunk of a file, in order; places count from where the chunk begins. */
export interface ChunkFindings {
  readonly chunk: Chunk
  /** Where the chunk begins in the file. */
  readonly start: number
  /** The very same list as long as all of it is. */
  readonly findings: readonly Finding[]
}

/** A finding at its place in the file, in offsets of the file's text. */
export interface PlacedFinding {
  readonly finding: Finding
  readonly start: number
  readonly end: number
}

const chunkChecks = checks.filter(check => check.inChunk !== undefined)
const fileChecks = checks.filter(check => check.inFile !== undefined)
const codes = checks.map(check => check.code)

/** What a chunk's text alone decides, whatever the severities. */
const findInChunk = onceFor((chunk: Chunk): readonly Hit[] =>
  chunkChecks.flatMap(check => [...(check.inChunk?.(chunk) ?? [])].map(one => [check, one] as const)),
)

/** The profiles of a file, evaluated; where it is long, those evaluated so far. */
export function evaluations(view: FileView): readonly Evaluation[] {
  return view.predicted.map(definition => evaluate(view.scope, definition))
}

/**
 * Tells whether a profile rests on a value that is doubted (`magnitude`): then nothing found in it is worth a word. Where
 * the check is off, or the file of the value accepts it as a whole, it is judged like any other.
 */
function withholder(view: FileView, severities: Severities): (evaluation: Evaluation) => boolean {
  if (severities[doubtedCode] === 'off') return () => false
  const accepts = (document: Document): boolean =>
    document.source.chunks.some(({ chunk }) =>
      readChunk(chunk).allows.some(({ code, covers }) => code === doubtedCode && covers === undefined),
    )
  const isAccepted = (chunk: Chunk): boolean => {
    const home = view.documents.find(({ starts }) => starts.has(chunk))
    return home !== undefined && accepts(home)
  }
  return ({ profile }) => doubtedOf(profile).some(({ chunk }) => !isAccepted(chunk))
}

function covers(allow: Allow, found: Found): boolean {
  const span = allow.covers
  if (span === undefined) return true
  return allow.chunk === found.at.chunk && found.at.start >= span.start && found.at.end <= span.end
}

/** Whether an allow that nothing fell under is worth a word; unknown codes have a finding of their own. */
function isWorthTelling(allow: Allow, document: Document, isPredicted: boolean, usedByOthers: boolean): boolean {
  const check = findCheck(allow.code)
  if (check === undefined || check === allowUnused) return false
  // What cannot be predicted now may well be found again once the line that is being written reads.
  if ((check.inProfile ?? check.inGroup) !== undefined && !isPredicted) return false
  // A profile of another file may start from this one.
  const inProfileBlock = document.definitions.some(other => other.kind === 'profile' && standsIn(allow, other))
  return !(usedByOthers && inProfileBlock)
}

const nothingShown: BenchFacts = {
  runs: [],
  evidence: () => undefined,
  // biome-ignore lint/correctness/useYield: nothing takes time here
  evidenceInSlices: function* () {
    return undefined
  },
}

const rank: Readonly<Record<Severity, number>> = { error: 0, warning: 1, information: 2, hint: 3 }

function inOrder(a: Finding, b: Finding): number {
  const byCode = a.code < b.code ? -1 : a.code > b.code ? 1 : 0
  return a.at.start - b.at.start || a.at.end - b.at.end || rank[a.severity] - rank[b.severity] || byCode
}

/** Evicted with what was found; replaced when its severity is another. */
const findings = keptWhile<Found, Finding>()

/** What a check found, as it is published. */
function findingOf(check: Check, one: Found, severity: Severity): Finding {
  const rests = [check, severity]
  const before = findings.of(one, rests)
  if (before !== undefined) return before
  const message = withShortQuotes(one.message)
  return findings.keep(one, rests, { ...one, message, code: check.code, severity, page: pageOf(check.code) })
}

/** One check alone, of one profile or of what is in the file beside its profiles. */
export interface OneCheck {
  readonly code: string
  readonly profile: string | undefined
}

/** What is said of a chunk, and the allows that something in it fell under. */
interface Said {
  readonly findings: readonly Finding[]
  readonly used: readonly Allow[]
  /** Whether something waits for a run over time, or for a prediction: then it is found again. */
  readonly isOpen: boolean
}

const nothingSaid = { findings: [], used: [] }

/** What is said of the chunks of a file but for what its names as a whole decide. */
const saidAlong = alongEdits<Said>(({ isOpen }) => isOpen)

/** Evicted with the chunk; replaced where something else is found in it, or accepted. */
const said = keptWhile<Chunk, Omit<Said, 'isOpen'>>()

/** The allows that hold for a whole file, by code; the very same as long as all of them are. */
type Wide = ReadonlyMap<string, readonly Allow[]>

/** Evicted with the last version of the file; replaced where one of its wide allows is another. */
const wides = keptWhile<Document['lineage'], Wide>()

function wideOf({ lineage, allows }: Document): Wide {
  const wide = allows.filter(one => one.covers === undefined)
  return (
    wides.of(lineage, wide) ??
    wides.keep(
      lineage,
      wide,
      byKey(wide, ({ code }) => code),
    )
  )
}

function sayOf(chunk: Chunk, all: readonly Hits[], wide: Wide, severities: Severities): Omit<Said, 'isOpen'> {
  const rests = [severities, wide, ...all.flatMap(({ hits, inherited }) => [hits, inherited])]
  const before = said.of(chunk, rests)
  if (before !== undefined) return before
  const allows = readChunk(chunk).allows.filter(one => one.covers !== undefined)
  const used: Allow[] = []
  const findings: Finding[] = []
  for (const { hits, inherited } of all)
    for (const [check, one] of hits) {
      const accepting = [
        ...(wide.get(check.code) ?? []),
        ...[...allows.filter(allow => covers(allow, one)), ...inherited].filter(({ code }) => code === check.code),
      ]
      used.push(...accepting)
      const usual = check.severity === 'off' ? 'off' : (one.severity ?? check.severity)
      const severity = severities[check.code] ?? usual
      if (severity !== 'off' && accepting.length === 0) findings.push(findingOf(check, one, severity))
    }
  return said.keep(chunk, rests, { findings: withoutDisagreement(findings.sort(inOrder)), used })
}

function byKey<K, T>(list: readonly T[], keyOf: (one: T) => K): ReadonlyMap<K, readonly T[]> {
  const found = new Map<K, T[]>()
  for (const one of list) {
    const key = keyOf(one)
    const same = found.get(key)
    if (same === undefined) found.set(key, [one])
    else same.push(one)
  }
  return found
}

/** The checks' own; the very same each time, so that what is kept with them is found again. */
export const usualSeverities: Severities = {}

/** What is said of allows that nothing fell under. */
function unusedAllows(
  view: FileView,
  usedByOthers: boolean,
  left: readonly Allow[],
  isWithheld: (evaluation: Evaluation) => boolean,
): readonly Hit[] {
  if (left.length === 0) return []
  const isPredicted =
    isWhole(view) &&
    evaluations(view).every(
      one => one.input.bench !== undefined && unreadOf(one.profile).length === 0 && !isWithheld(one),
    )
  return left
    .filter(allow => isWorthTelling(allow, view.document, isPredicted, usedByOthers))
    .map((allow): Hit => [allowUnused, unusedAllow(allow)])
}

/**
 * All findings of one file, chunk by chunk, those with none left out. What is said of a chunk is kept with it: after an edit
 * only what is found elsewhere than before is put together again.
 * @param severities severities that differ from the checks' own, by code; `off` leaves a check out.
 * @param shown what the bench has shown
 * @param only one check, and what it is asked about; of other findings some are there, and some are not
 */
export function findByChunk(
  view: FileView,
  usedByOthers: boolean,
  severities: Severities = usualSeverities,
  shown: BenchFacts = nothingShown,
  only?: OneCheck,
): readonly ChunkFindings[] {
  const facts = lookedUpOnce(shown)
  const { document } = view
  const { allows } = document
  const context = { view, usedByOthers, codes, ...facts }
  const inFile = byKey(
    withCode(fileChecks, only?.code).flatMap(check =>
      [...(check.inFile?.(context) ?? [])].map((one): Hit => [check, one]),
    ),
    ([, { at }]) => at.chunk,
  )
  const isWithheld = withholder(view, severities)
  const wide = wideOf(document)
  const predicted = isWhole(view) ? undefined : new Set(view.predicted)
  const isPredicted = (one: Definition): boolean => predicted?.has(one) ?? true
  const ofProfile = (definition: Definition): Hits => {
    const evaluation = evaluate(view.scope, definition)
    const own = findOwnInProfile(view, evaluation, facts, only?.code)
    return isWithheld(evaluation) ? { ...own, hits: [] } : own
  }
  const sayIn = (chunk: Chunk, ...beside: readonly (readonly Hit[] | undefined)[]): Said => {
    const ofFile = [findInChunk(chunk), ...beside].flatMap(hits =>
      hits === undefined || hits.length === 0 ? [] : [{ hits, inherited: noAllows, isOpen: false }],
    )
    const asked = profilesIn(chunk).filter(({ name }) => only === undefined || name === only.profile)
    const inProfiles = asked.filter(isPredicted).map(ofProfile)
    const isOpen = inProfiles.length < asked.length || inProfiles.some(one => one.isOpen)
    const hits = [...ofFile, ...inProfiles.filter(one => one.hits.length > 0)]
    return { ...(hits.length === 0 ? nothingSaid : sayOf(chunk, hits, wide, severities)), isOpen }
  }
  const rests = [severities, wide, ...restsOfProfiles(view, facts)]
  const { chunks } = document.source
  const alone = only === undefined ? saidAlong(document, rests, sayIn) : chunks.map(({ chunk }) => sayIn(chunk))
  const beside = new Map([...inFile].map(([chunk, hits]) => [chunk, sayIn(chunk, hits)]))
  const saidOf = (chunk: Chunk, index: number): Said => beside.get(chunk) ?? (alone[index] as Said)
  if (allows.length > 0 && only === undefined) {
    const used = new Set(chunks.flatMap(({ chunk }, index) => saidOf(chunk, index).used))
    const unused = unusedAllows(
      view,
      usedByOthers,
      allows.filter(allow => !used.has(allow)),
      isWithheld,
    )
    for (const [chunk, hits] of byKey(unused, ([, { at }]) => at.chunk))
      beside.set(chunk, sayIn(chunk, inFile.get(chunk), hits))
  }
  return chunks.flatMap(({ chunk, start }, index) => {
    const { findings } = saidOf(chunk, index)
    return findings.length === 0 ? [] : [{ chunk, start, findings }]
  })
}

/** Findings of chunks at their places in the file, in their order. */
export const placedFindings = onceFor((found: readonly ChunkFindings[]): readonly PlacedFinding[] =>
  found.flatMap(({ start: base, findings: own }) =>
    own.map(finding => ({ finding, start: base + finding.at.start, end: base + finding.at.end })),
  ),
)

/** All findings of one file, in order; the parameters are those of `findByChunk`. */
export function findAll(...given: Parameters<typeof findByChunk>): readonly PlacedFinding[] {
  return placedFindings(findByChunk(...given))
}
