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
import type { Document, FileView } from '../workspace/workspace.ts'
import { withoutDisagreement } from './agreement.ts'
import { allowUnused, unusedAllow } from './language/allow-unused.ts'
import { pageOf } from './page.ts'
import { checks, findCheck } from './registry.ts'
import type { BenchFacts, Check, Finding, Found, Severity } from './types.ts'

export type Severities = Readonly<Record<string, Severity | 'off'>>

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
  finished(findInSlices(evaluation, facts, only))

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

/**
 * What is found in a profile but not in the one it starts from. Where an inherited setting comes to the same
 * figures, it is the same mistake, and it is reported where it is made.
 */
function findOwnInProfile(view: FileView, evaluation: Evaluation, facts: BenchFacts, only?: string): readonly Hit[] {
  const hits = findInProfile(evaluation, facts, only)
  const [own, base] = evaluation.profile.chain
  const basedOn = own?.basedOn
  if (hits.length === 0 || base === undefined || basedOn === undefined) return hits
  const inherited = findInProfile(evaluate(view.scope, base), facts, only)
  const isInherited = ({ rests }: Check): boolean =>
    own !== undefined && rests?.every(word => !mentions(own.match, word)) === true
  return hits.filter(
    ([check, { at, message }]) =>
      at.start !== basedOn.start ||
      at.end !== basedOn.end ||
      !inherited.some(([other, found]) => other === check && (found.message === message || isInherited(check))),
  )
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
  const isSeen = ({ chunk }: Definition): boolean => {
    const start = document.starts.get(chunk) ?? 0
    return seen !== undefined && start <= seen.end && start + chunk.text.length >= seen.start
  }
  for (const definition of seen === undefined ? [] : profiles.filter(isSeen)) {
    yield* prepareProfile(view, definition, facts)
  }
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

/**
 * Allows of the profiles that a profile starts from hold for it too; one inside a table holds as long as the
 * table is inherited.
 */
function inheritedAllows({ profile }: Evaluation): readonly Allow[] {
  if (profile.chain.length === 1) return []
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

function inOrder(a: PlacedFinding, b: PlacedFinding): number {
  const byCode = a.finding.code < b.finding.code ? -1 : a.finding.code > b.finding.code ? 1 : 0
  return a.start - b.start || a.end - b.end || rank[a.finding.severity] - rank[b.finding.severity] || byCode
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

/**
 * All findings of one file.
 * @param severities severities that differ from the checks' own, by code; `off` leaves a check out.
 * @param shown what the bench has shown
 * @param only one check, and what it is asked about; of other findings some are there, and some are not
 */
export function findAll(
  view: FileView,
  usedByOthers: boolean,
  severities: Severities = {},
  shown: BenchFacts = nothingShown,
  only?: OneCheck,
): readonly PlacedFinding[] {
  const facts = lookedUpOnce(shown)
  const { document } = view
  const { allows } = document
  const allowsOf = new Map<string, Allow[]>()
  for (const allow of allows) {
    const same = allowsOf.get(allow.code)
    if (same === undefined) allowsOf.set(allow.code, [allow])
    else same.push(allow)
  }
  const used = new Set<Allow>()
  const result: PlacedFinding[] = []

  const publish = ([check, one]: Hit, inherited: readonly Allow[] = []): void => {
    const base = document.starts.get(one.at.chunk)
    if (base === undefined) return
    const accepting = [
      ...(allowsOf.get(check.code) ?? []).filter(allow => covers(allow, one)),
      ...inherited.filter(allow => allow.code === check.code),
    ]
    for (const allow of accepting) used.add(allow)
    const usual = check.severity === 'off' ? 'off' : (one.severity ?? check.severity)
    const severity = severities[check.code] ?? usual
    if (severity === 'off' || accepting.length > 0) return
    const finding = findingOf(check, one, severity)
    result.push({ finding, start: base + one.at.start, end: base + one.at.end })
  }

  for (const { chunk } of document.source.chunks) for (const hit of findInChunk(chunk)) publish(hit)
  const context = { view, usedByOthers, codes, ...facts }
  for (const check of withCode(fileChecks, only?.code))
    for (const one of check.inFile?.(context) ?? []) publish([check, one])
  const profiles = view.predicted
    .filter(({ name }) => only === undefined || name === only.profile)
    .map(definition => evaluate(view.scope, definition))
  const isWithheld = withholder(view, severities)
  for (const evaluation of profiles) {
    if (isWithheld(evaluation)) continue
    const inherited = inheritedAllows(evaluation)
    for (const hit of findOwnInProfile(view, evaluation, facts, only?.code)) publish(hit, inherited)
  }
  const left = only === undefined ? allows.filter(allow => !used.has(allow)) : []
  if (left.length > 0) {
    const stated = document.definitions.filter(({ kind }) => kind === 'profile').length
    const isPredicted =
      profiles.length === stated &&
      profiles.every(one => one.input.bench !== undefined && unreadOf(one.profile).length === 0 && !isWithheld(one))
    for (const allow of left)
      if (isWorthTelling(allow, document, isPredicted, usedByOthers)) publish([allowUnused, unusedAllow(allow)])
  }
  return withoutDisagreement(result.sort(inOrder))
}
