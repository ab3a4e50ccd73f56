/** A bench of its own on which changes are tried: the files in use stay as they are. */

import { applyEdits, type TextEdit } from '../../../grammar/printer.ts'
import { prepareFindings } from '../../checks/prepare.ts'
import { evaluations, findAll, type OneCheck, type Severities } from '../../checks/run.ts'
import type { BenchFacts, FixEdit } from '../../checks/types.ts'
import { coresOf, isWork } from '../../model/index.ts'
import type { Definition } from '../../semantic/definitions.ts'
import { type Evaluation, evaluate } from '../../semantic/evaluate.ts'
import type { Evidence } from '../../semantic/evidence.ts'
import { type Expectation, expectationOf, expectationsOf } from '../../semantic/expectations.ts'
import { toleranceOf } from '../../semantic/judging.ts'
import { overTimeSliceMs, warmCorners } from '../../semantic/over-time.ts'
import type { Sourced } from '../../semantic/profile.ts'
import type { Scope } from '../../semantic/scope.ts'
import { createWorkspace, type Document, type FileView, type Workspace } from '../../workspace/workspace.ts'
import type { FileEdits } from '../actions.ts'
import { subjectOf } from '../finding-subject.ts'
import { formattedEdits } from '../formatted-edits.ts'
import { type HighestSet, highestSet } from '../set-voltages.ts'
import { createCourseFails } from './of-course.ts'
import { keepsBusy } from './screen.ts'
import type { InSlices, LostClock } from './types.ts'

/** What the bench is judged by beside its files. */
export interface TrialFacts {
  /** What runs have shown of a part; they were made with the bench as it is, and stay. */
  readonly evidence: BenchFacts['evidence']
  readonly severities: Severities
  /** How long pairs are looked for; 20 s unless said otherwise. */
  readonly pairsWithinMs?: number
}

/** What a full check of a file says, as far as a change must not make it worse. */
interface Verdicts {
  /** Expectations by file, profile and text: 2 holds, 1 is undecided, 0 does not hold. */
  readonly expectations: ReadonlyMap<string, number>
  /** Errors and warnings by what they are about, those of expectations left out. */
  readonly findings: ReadonlyMap<string, Counted>
}

/** How often something is found that is about the same. */
interface Counted {
  readonly code: string
  readonly count: number
}

/** Why a change is no answer. */
export type Refused =
  | { readonly refused: 'place' | 'profile' | 'voltage' | 'asked' | 'expectations' | 'clocks over time' }
  | { readonly refused: 'finding'; readonly uri: string; readonly code: string; readonly key: string }

/** What came of a change that is an answer. */
export interface Verified {
  readonly predicted: number | null
  readonly costs: readonly LostClock[]
}

export interface Trials {
  /** The profile as it is, on this bench. */
  readonly base: Evaluation
  readonly scope: Scope
  /** What trials show of the profile's part. */
  readonly evidence: Evidence | undefined
  /** The expectation now. */
  now(): InSlices<Expectation | undefined>
  /** The profile's expectations that hold as it is. */
  holding(): InSlices<readonly Expectation[]>
  /** The edits of a fix, the lines they touch formatted, for the text as it is; undefined where they fit no file. */
  placed(edits: readonly FixEdit[]): readonly FileEdits[] | undefined
  /** The profile in the text that edits make of the present one. Only one such text stands at a time. */
  tried(edits: readonly FileEdits[]): { readonly evaluation: Evaluation; readonly scope: Scope } | undefined
  /** A full check of what edits make of the files. */
  verified(edits: readonly FileEdits[]): InSlices<Verified | Refused>
  /**
   * Whether a change is refused for the reason that another one was: as certain as a full check, and much quicker. False
   * tells nothing; nor does it of clocks that are held for a time.
   */
  refusedAlike(edits: readonly FileEdits[], why: Refused): boolean
  /** The text of a file as it is in use. */
  originalText(uri: string): string
  documentOf(place: { readonly chunk: FixEdit['chunk'] }): Document | undefined
}

/** All that a file's profiles may lead to, and all that may lead to it. */
function connected(workspace: Workspace, uri: string): readonly Document[] {
  const found = new Map<string, Document>()
  const wanted = [uri]
  for (let next = wanted.pop(); next !== undefined; next = wanted.pop()) {
    const view = workspace.view(next)
    if (view === undefined || found.has(view.document.uri)) continue
    found.set(view.document.uri, view.document)
    wanted.push(...view.documents.map(document => document.uri), ...workspace.usersOf(next))
  }
  return [...found.values()]
}

/**
 * A profile that starts from another is not reported where both fail alike, so a finding may appear where the other is put
 * right. Expectations are compared by what they come to.
 */
const ofExpectations: ReadonlySet<string> = new Set(['expect-failed', 'expect-undecided'])
const rankOf = ({ holds }: Expectation): number => (holds === true ? 2 : holds === null ? 1 : 0)

/**
 * @param live the documents in use, which are copied
 * @param question the expectation, stated in a profile of its own
 */
export function* createTrials(
  live: Workspace,
  uri: string,
  profile: string,
  question: Sourced,
  { evidence: evidenceOf, severities }: TrialFacts,
): InSlices<Trials | undefined> {
  const copies = connected(live, uri)
  const workspace = createWorkspace({ read: async () => undefined })
  let version = 0
  for (const document of copies) {
    workspace.set(document.uri, document.source.text, version)
    yield
  }
  const originals = new Map(copies.map(document => [document.uri, workspace.document(document.uri) ?? document]))
  /** Files whose text is another one just now. */
  const changed = new Set<string>()

  /** Runs know parts by their definitions in the files in use. */
  const liveParts = new Map(
    copies.flatMap(({ definitions }) =>
      definitions.flatMap(one => (one.kind === 'part' ? [[one.chunk.text, one] as const] : [])),
    ),
  )
  const evidence = (part: Definition | undefined): ReturnType<BenchFacts['evidence']> =>
    part && evidenceOf(liveParts.get(part.chunk.text))
  const facts: BenchFacts = {
    // Runs were made with the bench as it is; what a changed one would make of them is no fault of it.
    runs: [],
    evidence,
    // biome-ignore lint/correctness/useYield: it was made before
    evidenceInSlices: function* (part) {
      return evidence(part)
    },
  }

  const set = (edits: readonly FileEdits[]): void => {
    // Runs that the text before asked for are of no use to this one.
    workspace.overTime.forget()
    const wanted = new Set(edits.map(one => one.uri))
    for (const one of changed) {
      const text = originals.get(one)?.source.text
      if (!wanted.has(one) && text !== undefined) workspace.set(one, text, ++version)
    }
    changed.clear()
    for (const { uri: at, edits: list } of edits) {
      const text = originals.get(at)?.source.text
      if (text === undefined) continue
      workspace.set(at, applyEdits(text, list), ++version)
      changed.add(at)
    }
  }
  const current = (): { readonly evaluation: Evaluation; readonly scope: Scope } | undefined => {
    const view = workspace.view(uri)
    const definition = view?.document.definitions.find(one => one.kind === 'profile' && one.name === profile)
    if (view === undefined || definition === undefined) return undefined
    return { evaluation: evaluate(view.scope, definition), scope: view.scope }
  }

  function* made<T>(ask: () => T, isPending: (found: T) => boolean): InSlices<T> {
    for (;;) {
      const found = ask()
      if (!isPending(found)) return found
      while (workspace.overTime.pending() > 0) {
        workspace.overTime.makeSome(overTimeSliceMs)
        yield
      }
    }
  }
  const judged = (evaluation: Evaluation): InSlices<Expectation | undefined> =>
    made(
      () => expectationOf(evaluation, question, evidence(evaluation.profile.part)),
      found => found?.pending === true,
    )

  const expectations = (evaluation: Evaluation): InSlices<readonly Expectation[]> =>
    made(
      () => expectationsOf(evaluation, evidence(evaluation.profile.part)),
      found => found.some(one => one.pending === true),
    )

  const affected = (uris: Iterable<string>): readonly string[] =>
    [...new Set([...uris].flatMap(one => [one, ...workspace.usersOf(one)]))].sort()

  const keyOf = (at: string, evaluation: Evaluation, { text }: Expectation): string =>
    `${at}\n${evaluation.profile.definition.name}\n${text}`

  const countedIn = (view: FileView, only?: OneCheck): Map<string, Counted> => {
    const found = new Map<string, Counted>()
    for (const { finding, start } of findAll(
      view,
      workspace.usersOf(view.document.uri).length > 0,
      severities,
      facts,
      only,
    )) {
      const { severity, code, profile: own = '' } = finding
      if ((severity !== 'error' && severity !== 'warning') || ofExpectations.has(code)) continue
      const key = `${own}\n${subjectOf(finding, view.document.source.text, start)}`
      found.set(key, { code, count: (found.get(key)?.count ?? 0) + 1 })
    }
    return found
  }

  function* findingsOf(at: string): InSlices<Verdicts['findings']> {
    const view = workspace.view(at)
    if (view === undefined) return new Map()
    for (const _ of prepareFindings(view, facts)) yield
    const found = countedIn(view)
    yield
    return found
  }

  function* expectationsIn(at: string): InSlices<Verdicts['expectations']> {
    const found = new Map<string, number>()
    const view = workspace.view(at)
    for (const evaluation of view === undefined ? [] : evaluations(view)) {
      for (const one of yield* expectations(evaluation)) found.set(keyOf(at, evaluation, one), rankOf(one))
      yield
    }
    return found
  }

  const before = new Map<string, Verdicts>()
  /** The profile's clocks that are held for a time as it is. */
  let heldForTime: readonly Expectation[] = []
  function* verdictsBefore(uris: readonly string[]): InSlices<void> {
    const missing = uris.filter(one => !before.has(one))
    if (missing.length === 0) return
    set([])
    const evaluation = current()?.evaluation
    const stated = evaluation === undefined ? [] : yield* expectations(evaluation)
    heldForTime = stated.filter(one => one.holds === true && isClockForTime(one))
    for (const one of missing)
      before.set(one, { expectations: yield* expectationsIn(one), findings: yield* findingsOf(one) })
  }

  /** Whether any expectation of the profile that needs no run over time would be worse. */
  const losesAtOnce = (evaluation: Evaluation): boolean =>
    expectationsOf(evaluation, evidence(evaluation.profile.part)).some(
      one =>
        one.pending !== true && rankOf(one) < (before.get(uri)?.expectations.get(keyOf(uri, evaluation, one)) ?? 0),
    )

  /** The first error or warning that is new in these files. */
  function* newFinding(uris: readonly string[]): InSlices<Refused | undefined> {
    for (const one of uris) {
      for (const [key, { code, count }] of yield* findingsOf(one))
        if (count > knownCount(one, key)) return { refused: 'finding', uri: one, code, key }
    }
    return undefined
  }
  const knownCount = (at: string, key: string): number => before.get(at)?.findings.get(key)?.count ?? 0

  /** Whether the clock of a run falls below what should be held for a time; the run is kept where it does not. */
  function* isSlower({ input }: Evaluation, { load, target, forS, group }: Expectation): InSlices<boolean> {
    const { bench, corners, loads } = input
    if (bench === undefined || forS === undefined) return false
    const clockMhz = (target.value - toleranceOf(target)) * 1000 * (1 - 1e-12)
    for (const corner of warmCorners(bench, corners)) {
      for (const one of loads) {
        if (one.name !== load || !isWork(one.load) || !keepsBusy(bench, one.load, group)) continue
        const run = yield* workspace.overTime.runUnlessSlower(bench, one.load, corner, forS, { clockMhz, group })
        if (run === 'slower') return true
      }
    }
    return false
  }

  const first = current()
  if (first === undefined) return undefined
  const base = first.evaluation
  let highestNow: readonly HighestSet[] | undefined
  const courseFails = createCourseFails()

  function* verified(edits: readonly FileEdits[]): InSlices<Verified | Refused> {
    const uris = affected(edits.map(one => one.uri))
    yield* verdictsBefore([...new Set([...uris, uri])])
    highestNow ??= highestSet(base)
    set(edits)
    const evaluation = current()?.evaluation
    if (evaluation === undefined) return { refused: 'profile' }
    if (raisesVoltage(highestNow, evaluation)) return { refused: 'voltage' }
    yield
    const soon = expectationOf(evaluation, question, evidence(evaluation.profile.part))
    if (soon?.pending !== true && soon?.holds !== true) return { refused: 'asked' }
    if (losesAtOnce(evaluation)) return { refused: 'expectations' }
    const found = yield* newFinding(uris)
    if (found !== undefined) return found
    // Runs over time take longest and decide expectations alone: they are made once all else is well, and left where they fail.
    for (const one of heldForTime) if (yield* isSlower(evaluation, one)) return { refused: 'clocks over time' }
    if (soon?.pending === true && isClockForTime(soon) && (yield* isSlower(evaluation, soon)))
      return { refused: 'asked' }
    if (soon?.pending === true && (yield* courseFails(evaluation, soon))) return { refused: 'asked' }
    const then = yield* judged(evaluation)
    if (then?.holds !== true) return { refused: 'asked' }
    for (const one of uris) {
      const ranks = yield* expectationsIn(one)
      for (const [key, rank] of before.get(one)?.expectations ?? [])
        if ((ranks.get(key) ?? 0) < rank) return { refused: 'expectations' }
    }
    return { predicted: then.predicted, costs: lostClocks(base, evaluation, then.load) }
  }

  const refusedAlike = (edits: readonly FileEdits[], why: Refused): boolean => {
    set(edits)
    if (why.refused === 'finding') {
      const view = workspace.view(why.uri)
      if (view === undefined) return false
      const [own = ''] = why.key.split('\n')
      const found = countedIn(view, { code: why.code, profile: own === '' ? undefined : own })
      return (found.get(why.key)?.count ?? 0) > knownCount(why.uri, why.key)
    }
    const evaluation = current()?.evaluation
    if (evaluation === undefined) return why.refused === 'profile'
    switch (why.refused) {
      case 'voltage':
        highestNow ??= highestSet(base)
        return raisesVoltage(highestNow, evaluation)
      case 'asked': {
        const soon = expectationOf(evaluation, question, evidence(evaluation.profile.part))
        return soon?.pending !== true && soon?.holds !== true
      }
      case 'expectations':
        return losesAtOnce(evaluation)
      case 'clocks over time':
      case 'place':
      case 'profile':
        return false
    }
  }

  return {
    base,
    scope: first.scope,
    evidence: evidence(base.profile.part),
    now: function* () {
      set([])
      const found = current()
      return found && (yield* judged(found.evaluation))
    },
    holding: function* () {
      set([])
      const evaluation = current()?.evaluation
      const list = evaluation && (yield* expectations(evaluation))
      return (list ?? []).filter(({ holds }) => holds === true)
    },
    placed: edits => {
      const byFile = new Map<Document, TextEdit[]>()
      for (const { chunk, start, end, text } of edits) {
        const document = [...originals.values(), ...workspace.documents()].find(one => one.starts.has(chunk))
        const offset = document?.starts.get(chunk)
        if (document === undefined || offset === undefined) return undefined
        const list = byFile.get(document) ?? []
        list.push({ start: offset + start, end: offset + end, text })
        byFile.set(document, list)
      }
      return [...byFile].map(([document, list]) => {
        list.sort((a, b) => a.start - b.start)
        return { uri: document.uri, edits: formattedEdits(document.source, list) }
      })
    },
    tried: edits => {
      set(edits)
      return current()
    },
    verified,
    refusedAlike,
    originalText: at => originals.get(at)?.source.text ?? '',
    documentOf: ({ chunk }) => [...originals.values()].find(one => one.starts.has(chunk)),
  }
}

/** Whether a clock should be held for a time, so that a run can be left at the first second that is too slow. */
const isClockForTime = ({ figure, compare, forS, course }: Expectation): boolean =>
  figure === 'clock' && compare === '>=' && forS !== undefined && course === undefined

/** Whether a set voltage that the profile may come to lies above what the part allows, and above what it was. */
function raisesVoltage(before: readonly HighestSet[], then: Evaluation): boolean {
  return highestSet(then).some(({ group, setV, allowedV }) => {
    const beforeV = before.find(one => one.group === group)?.setV ?? 0
    return setV > allowedV * (1 + 1e-6) && setV > beforeV + 1e-9
  })
}

/** What other loads lose of their clock where they lose most of it. */
function lostClocks(before: Evaluation, then: Evaluation, load: string): readonly LostClock[] {
  const most = new Map<string, number>()
  const { corners } = then.input
  for (const one of before.predictions) {
    const { name } = one.load
    if (name === load || one.settled.clockMhz === null) continue
    // The warmest corners stand last, whether or not there are as many.
    const fromEnd = before.input.corners.length - before.input.corners.indexOf(one.corner)
    const corner = corners[corners.length - fromEnd] ?? corners[0]
    const same = then.predictions.find(
      other =>
        other.load.name === name && coresOf(other.load.load) === coresOf(one.load.load) && other.corner === corner,
    )
    const lost = one.settled.clockMhz - (same?.settled.clockMhz ?? 0)
    if (lost > 1e-6) most.set(name, Math.max(lost, most.get(name) ?? 0))
  }
  return [...most].map(([name, clockMhz]) => ({ load: name, clockMhz })).sort((a, b) => (a.load < b.load ? -1 : 1))
}
