/** Runs the checks over a file and its profiles, and merges what they find into one sorted set. */

import { keptWhile, onceFor } from '../../grammar/once.ts'
import type { Chunk, Span } from '../../grammar/tree.ts'
import { mayBeOff, prepareCompared } from '../bench/run/compared.ts'
import { finished } from '../model/slices.ts'
import { type Allow, type Definition, mentions, nameAfter, readChunk } from '../semantic/definitions.ts'
import { doubtedCode, doubtedOf } from '../semantic/doubted.ts'
import { type Evaluation, evaluate, evaluateInSlices, isEvaluated } from '../semantic/evaluate.ts'
import { expectationsOf } from '../semantic/expectations.ts'
import { type GroupView, groupViews } from '../semantic/group-view.ts'
import type { LoadCase } from '../semantic/load-cases.ts'
import { readsWhole, unreadOf } from '../semantic/unread.ts'
import { withShortQuotes } from '../wording/quoted.ts'
import { type Document, definitionsIn, type FileView } from '../workspace/workspace.ts'
import { withoutDisagreement } from './agreement.ts'
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

type Hit = readonly [Check, Found]

const chunkChecks = checks.filter(check => check.inChunk !== undefined)
const profileChecks = checks.filter(check => check.inProfile !== undefined || check.inGroup !== undefined)
const fileChecks = checks.filter(check => check.inFile !== undefined)
const codes = checks.map(check => check.code)

/** The checks with a code, or all of them. */
const withCode = (list: readonly Check[], code: string | undefined): readonly Check[] =>
  code === undefined ? list : list.filter(check => check.code === code)

/** What a chunk's text alone decides, whatever the severities. */
const findInChunk = onceFor((chunk: Chunk): readonly Hit[] =>
  chunkChecks.flatMap(check => [...(check.inChunk?.(chunk) ?? [])].map(one => [check, one] as const)),
)

/**
 * A profile as its checks see it. While a line that it rests on does not read, there is no bench for them: what rests
 * on predictions would judge the default that stepped in. A load that does not read is left out.
 */
function asFarAsItReads(evaluation: Evaluation): Evaluation {
  const { profile, input, predictions, overTime } = evaluation
  if (input.bench === undefined) return evaluation
  if (unreadOf(profile).length > 0)
    return { profile, input: { ...input, bench: undefined, benchForSteps: undefined }, predictions: [], overTime }
  const loads = profile.loads.filter(readsWhole)
  if (loads.length === profile.loads.length) return evaluation
  const isRead = (load: LoadCase): boolean => load.definition === undefined || loads.includes(load.definition)
  return {
    profile: { ...profile, loads },
    input: { ...input, loads: input.loads.filter(isRead) },
    predictions: predictions.filter(({ load }) => isRead(load)),
    overTime,
  }
}

/**
 * Everything found in a profile, whatever the severities; evicted with the evaluation, replaced when the bench has shown
 * something else.
 */
const inProfile = keptWhile<Evaluation, readonly Hit[]>()

/** What a check finds of each group of cores; what it says of all of them in the same words is said once. */
function byGroup({ inGroup }: Check, views: readonly GroupView[]): readonly Found[] {
  if (inGroup === undefined) return []
  const found = views.map(view => [...inGroup(view)])
  const isSame = (a: Found, b: Found): boolean =>
    a.message === b.message && a.at.chunk === b.at.chunk && a.at.start === b.at.start && a.at.end === b.at.end
  return found.flatMap((own, index) =>
    own.flatMap(one => {
      const group = views[index]?.group
      if (group === undefined) return one
      if (!found.every(other => other.some(same => isSame(same, one))))
        return { ...one, group, message: `${group}: ${one.message}` }
      return index === 0 ? one : []
    }),
  )
}

/** @param only the code of the one check that is run */
const findInProfile = (evaluation: Evaluation, facts: BenchFacts, only?: string): readonly Hit[] =>
  inProfile.of(evaluation, [facts.evidence(evaluation.profile.part)]) ?? finished(findInSlices(evaluation, facts, only))

/** The same, one check at a time. */
function* findInSlices(evaluation: Evaluation, facts: BenchFacts, only?: string): Generator<undefined, readonly Hit[]> {
  const evidence = facts.evidence(evaluation.profile.part)
  const before = inProfile.of(evaluation, [evidence])
  if (before !== undefined) return before
  const profile = evaluation.profile.definition.name
  const seen = asFarAsItReads(evaluation)
  const views = groupViews(seen.profile)
  const hits: Hit[] = []
  for (const check of withCode(profileChecks, only)) {
    const found = [...(check.inProfile?.(seen, evidence) ?? []), ...byGroup(check, views)]
    for (const one of found) hits.push([check, { profile, ...one }])
    yield
  }
  if (only !== undefined) return hits
  // What still waits for a run over time is found again when the run is there.
  const isPending = expectationsOf(evaluation, evidence).some(one => one.pending)
  return isPending ? hits : inProfile.keep(evaluation, [evidence], hits)
}

/** Hits, and the allows that hold for them beside those of their own file. */
interface Hits {
  readonly hits: readonly Hit[]
  readonly inherited: readonly Allow[]
}

/** Evicted with the evaluation; replaced when something else is found in the profile, or in the one it starts from. */
const ownInProfile = keptWhile<Evaluation, Hits>()

/**
 * What is found in a profile but not in the one it starts from. Where an inherited setting comes to the same
 * figures, it is the same mistake, and it is reported where it is made.
 */
function findOwnInProfile(view: FileView, evaluation: Evaluation, facts: BenchFacts, only?: string): Hits {
  const hits = findInProfile(evaluation, facts, only)
  const [own, base] = evaluation.profile.chain
  const basedOn = own?.basedOn
  const isAlone = hits.length === 0 || base === undefined || basedOn === undefined
  const above = isAlone ? undefined : findInProfile(evaluate(view.scope, base), facts, only)
  const before = ownInProfile.of(evaluation, [hits, above])
  if (before !== undefined) return before
  const isInherited = ({ rests }: Check): boolean =>
    own !== undefined && rests?.every(word => !mentions(own.match, word)) === true
  const isOwn = ([check, { at, message }]: Hit): boolean =>
    at.start !== basedOn?.start ||
    at.end !== basedOn.end ||
    above?.some(([other, found]) => other === check && (found.message === message || isInherited(check))) !== true
  const made = { hits: above === undefined ? hits : hits.filter(isOwn), inherited: inheritedAllows(evaluation) }
  return ownInProfile.keep(evaluation, [hits, above], made)
}

/** The profiles of a file, evaluated; where it is long, those evaluated so far. */
export function evaluations(view: FileView): readonly Evaluation[] {
  return view.predicted.map(definition => evaluate(view.scope, definition))
}

/** A step on the way to the findings of a file; `seen` once all is made that the visible ones rest on. */
export type Preparing = Generator<'seen' | undefined, void>

/**
 * Makes what the findings of a file rest on, a load or a check at a time, so that other work goes between; all of it is kept.
 * @param seen the stretch of the file whose profiles come first; without it they come in their order
 */
export function* prepareFindings(view: FileView, shown: BenchFacts, seen?: Span): Preparing {
  const facts = lookedUpOnce(shown)
  const { document, profiles } = view
  for (const part of document.definitions) if (part.kind === 'part') yield* facts.evidenceInSlices(part)
  for (const definition of seen === undefined ? [] : definitionsIn(document, seen))
    if (definition.kind === 'profile') yield* prepareProfile(view, definition, facts)
  for (const run of facts.runs) {
    yield* run.settleInSlices()
    if (mayBeOff(run)) yield* prepareCompared(run)
  }
  if (seen !== undefined) yield 'seen'
  for (const [index, definition] of profiles.entries()) {
    if (!isPrepared(view, definition, facts)) yield* prepareProfile(view, definition, facts)
    else if (index % LOOKED_AT === 0) yield
  }
}

/** Profiles with nothing left to do are skipped, so many in one step. */
const LOOKED_AT = 256

function isPrepared(view: FileView, definition: Definition, facts: BenchFacts): boolean {
  const { scope } = view
  if (!isEvaluated(scope, definition)) return false
  view.notePredicted(definition)
  const evaluation = evaluate(scope, definition)
  return inProfile.of(evaluation, [facts.evidence(evaluation.profile.part)]) !== undefined
}

function* prepareProfile(view: FileView, definition: Definition, facts: BenchFacts): Generator<undefined, void> {
  const evaluation = yield* evaluateInSlices(view.scope, definition)
  view.notePredicted(definition)
  const { part, chain } = evaluation.profile
  yield* facts.evidenceInSlices(part)
  const hits = yield* findInSlices(evaluation, facts)
  const [, base] = chain
  // What is found in the profile that it starts from is not said again.
  if (hits.length > 0 && base !== undefined) yield* findInSlices(yield* evaluateInSlices(view.scope, base), facts)
  yield
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

/** Whether an allow of this chunk stands in the definition, in its own block or in one inside it. */
function standsIn(allow: Allow, definition: Definition): boolean {
  const { covers } = allow
  const { start, end } = definition.match.statement
  return covers !== undefined && allow.chunk === definition.chunk && covers.start >= start && covers.end <= end
}

const noAllows: readonly Allow[] = []

/**
 * Allows of the profiles that a profile starts from hold for it too; one inside a table holds as long as the
 * table is inherited.
 */
function inheritedAllows({ profile }: Evaluation): readonly Allow[] {
  if (profile.chain.length === 1) return noAllows
  return profile.chain.slice(1).flatMap(link =>
    readChunk(link.chunk).allows.filter(allow => {
      if (!standsIn(allow, link)) return false
      if (allow.covers?.start === link.match.statement.start) return true
      const table = link.match.children.find(child => child.statement.start === allow.covers?.start)
      return table?.word !== undefined && profile.key(table.word.word, nameAfter(table))?.definition === link
    }),
  )
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

/** The same facts for work that looks at each profile of a file: what is shown of a part is looked up once. */
function lookedUpOnce(facts: BenchFacts): BenchFacts {
  const evidence = onceFor((part: Definition) => facts.evidence(part))
  const inSlices = new Set<Definition>()
  return {
    ...facts,
    evidence: part => part && evidence(part),
    evidenceInSlices: function* (part) {
      if (part === undefined) return undefined
      if (!inSlices.has(part)) yield* facts.evidenceInSlices(part)
      inSlices.add(part)
      return evidence(part)
    },
  }
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
}

/** Evicted with the chunk; replaced where something else is found in it, or accepted. */
const said = keptWhile<Chunk, Said>()

/** @param wide the allows that hold for the whole file */
function sayOf(chunk: Chunk, all: readonly Hits[], wide: readonly Allow[], severities: Severities): Said {
  const rests = [severities, ...wide, ...all.flatMap(({ hits, inherited }) => [hits, inherited])]
  const before = said.of(chunk, rests)
  if (before !== undefined) return before
  const allows = [...wide, ...readChunk(chunk).allows.filter(one => one.covers !== undefined)]
  const used: Allow[] = []
  const findings: Finding[] = []
  for (const { hits, inherited } of all)
    for (const [check, one] of hits) {
      const accepting = [...allows.filter(allow => covers(allow, one)), ...inherited].filter(
        allow => allow.code === check.code,
      )
      used.push(...accepting)
      const usual = check.severity === 'off' ? 'off' : (one.severity ?? check.severity)
      const severity = severities[check.code] ?? usual
      if (severity !== 'off' && accepting.length === 0) findings.push(findingOf(check, one, severity))
    }
  return said.keep(chunk, rests, { findings: withoutDisagreement(findings.sort(inOrder)), used })
}

function byChunk<T>(list: readonly T[], chunkOf: (one: T) => Chunk): ReadonlyMap<Chunk, readonly T[]> {
  const found = new Map<Chunk, T[]>()
  for (const one of list) {
    const chunk = chunkOf(one)
    const same = found.get(chunk)
    if (same === undefined) found.set(chunk, [one])
    else same.push(one)
  }
  return found
}

const usualSeverities: Severities = {}

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
  const inFile = byChunk(
    withCode(fileChecks, only?.code).flatMap(check =>
      [...(check.inFile?.(context) ?? [])].map((one): Hit => [check, one]),
    ),
    ([, { at }]) => at.chunk,
  )
  const profiles = view.predicted
    .filter(({ name }) => only === undefined || name === only.profile)
    .map(definition => evaluate(view.scope, definition))
  const isWithheld = withholder(view, severities)
  const judged = profiles.flatMap(evaluation => {
    const own = findOwnInProfile(view, evaluation, facts, only?.code)
    return own.hits.length === 0 || isWithheld(evaluation) ? [] : [{ chunk: evaluation.profile.definition.chunk, own }]
  })
  const inProfiles = byChunk(judged, one => one.chunk)
  const wide = allows.filter(one => one.covers === undefined)
  const sayIn = (chunk: Chunk, unused?: readonly Hit[]): Said | undefined => {
    const ofFile = [findInChunk(chunk), inFile.get(chunk), unused].flatMap(hits =>
      hits === undefined || hits.length === 0 ? [] : [{ hits, inherited: noAllows }],
    )
    const hits = [...ofFile, ...(inProfiles.get(chunk) ?? []).map(({ own }) => own)]
    return hits.length === 0 ? undefined : sayOf(chunk, hits, wide, severities)
  }
  const all = new Map<Chunk, Said | undefined>()
  for (const { chunk } of document.source.chunks) all.set(chunk, sayIn(chunk))
  const used = new Set(allows.length === 0 ? noAllows : [...all.values()].flatMap(one => one?.used ?? noAllows))
  const left = only === undefined ? allows.filter(allow => !used.has(allow)) : noAllows
  if (left.length > 0) {
    const stated = document.definitions.filter(({ kind }) => kind === 'profile').length
    const isPredicted =
      profiles.length === stated &&
      profiles.every(one => one.input.bench !== undefined && unreadOf(one.profile).length === 0 && !isWithheld(one))
    const told = left.filter(allow => isWorthTelling(allow, document, isPredicted, usedByOthers))
    const unused = told.map((allow): Hit => [allowUnused, unusedAllow(allow)])
    for (const [chunk, hits] of byChunk(unused, ([, { at }]) => at.chunk)) all.set(chunk, sayIn(chunk, hits))
  }
  return document.source.chunks.flatMap(({ chunk, start }) => {
    const findings = all.get(chunk)?.findings ?? []
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
