/** Lines above profiles, courses and runs: how many expectations hold, the way to all settings, the way to the charts. */

import { onceFor } from '../../grammar/once.ts'
import type { Span } from '../../grammar/tree.ts'
import { courseLines } from '../semantic/courses.ts'
import { type Definition, mentions, readChunk } from '../semantic/definitions.ts'
import { evaluate } from '../semantic/evaluate.ts'
import type { Judge } from '../semantic/expectations.ts'
import type { ResolvedProfile } from '../semantic/profile.ts'
import { alongEdits } from '../workspace/along-edits.ts'
import { isWhole, type Workspace } from '../workspace/workspace.ts'
import type { BenchRuns } from './bench-runs.ts'
import { expectationsText } from './facts/definition.ts'
import { profilesOn } from './profiles.ts'
import { hasLostDefinition, isSettled } from './settled.ts'

/** What stands above a profile that starts from another: a way to all its settings. */
export interface ResolvedLens extends Span {
  readonly profile: string
}

export function resolvedLenses(workspace: Workspace, uri: string): readonly ResolvedLens[] {
  const document = workspace.document(uri)
  return (document?.definitions ?? []).flatMap(({ basedOn, chunk, name, nameSpan: { start, end } }) => {
    const base = document?.starts.get(chunk)
    if (basedOn === undefined || base === undefined) return []
    return [{ start: base + start, end: base + end, profile: name }]
  })
}

/** A way to charts; that of a course names it. */
export interface ChartLens extends Span {
  readonly course?: string
}

/** The courses with a step that a profile which is predicted sees. */
export function courseLenses(workspace: Workspace, uri: string): readonly ChartLens[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  return view.document.definitions.flatMap((definition): ChartLens[] => {
    const { kind, name, chunk, nameSpan } = definition
    const base = view.document.starts.get(chunk)
    if (kind !== 'course' || base === undefined) return []
    if (!courseLines(definition).some(line => line.kind === 'step')) return []
    // Not only where it can be predicted now: a line that is being typed takes nothing away.
    if (profilesOn(workspace, view, definition).length === 0) return []
    return [{ start: base + nameSpan.start, end: base + nameSpan.end, course: name }]
  })
}

/** A line that is being typed counts too: the lens of the only expectation is not to come and go. */
const expects = onceFor(({ chain }: ResolvedProfile): boolean => chain.some(link => mentions(link.match, 'expect')))

/**
 * The ways to the charts: at profiles that have a line above them for what they expect, so that none appears where a profile
 * is being typed, at runs whose log is read, and at courses.
 */
export function chartLenses(workspace: Workspace, bench: BenchRuns, uri: string): readonly ChartLens[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const profiles = view.predicted.filter(definition => {
    const { profile, input } = evaluate(view.scope, definition)
    return input.bench !== undefined && expects(profile)
  })
  const runs = bench.compared(uri).filter(({ log, predicted }) => log?.state === 'read' && predicted !== undefined)
  const others = [...profiles, ...runs.map(({ record }) => record.definition)].flatMap(
    ({ chunk, nameSpan: { start, end } }): ChartLens[] => {
      const base = view.document.starts.get(chunk)
      return base === undefined ? [] : [{ start: base + start, end: base + end }]
    },
  )
  return [...others, ...courseLenses(workspace, uri)]
}

/** A line above each profile that expects something: how many of its expectations hold. */
export interface Lens extends Span {
  readonly profile: string
  /** Undefined while the profile cannot be judged because something it rests on is in error or missing. */
  readonly text: string | undefined
  /** False while a line that the profile rests on does not read: what was shown last may stay. */
  readonly settled: boolean
}

/** The lenses of a chunk, their places counted from where it begins. */
interface OfChunk {
  readonly lenses: readonly Lens[]
  /** Whether something is not predicted or decided yet. */
  readonly isOpen: boolean
}

const lensesAlong = alongEdits<OfChunk>(({ isOpen }) => isOpen)

export function lenses(workspace: Workspace, bench: BenchRuns, uri: string, judge: Judge): readonly Lens[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  const { document, documents, scope } = view
  const evidence = scope.all('part').map(part => bench.evidence(part))
  const rests = [scope.looked, hasLostDefinition(view), ...documents.slice(1), ...evidence]
  const predicted = isWhole(view) ? undefined : new Set(view.predicted)
  const lensOf = (definition: Definition): OfChunk => {
    const { name, nameSpan } = definition
    if (predicted?.has(definition) === false) return { lenses: [], isOpen: true }
    const evaluation = evaluate(scope, definition)
    if (!expects(evaluation.profile)) return { lenses: [], isOpen: false }
    const settled = isSettled(view, evaluation)
    const expectations = evaluation.input.bench === undefined ? undefined : judge(evaluation)
    const text = expectations && expectationsText(expectations)
    const isOpen = expectations?.some(one => one.pending) === true
    return { lenses: [{ ...nameSpan, profile: name, text, settled }], isOpen }
  }
  const made = lensesAlong(document, rests, chunk => {
    const profiles = readChunk(chunk).definitions.filter(({ kind }) => kind === 'profile')
    const found = profiles.map(lensOf)
    return { lenses: found.flatMap(one => one.lenses), isOpen: found.some(one => one.isOpen) }
  })
  return document.source.chunks.flatMap(({ start: base }, index) =>
    (made[index]?.lenses ?? []).map(lens => ({ ...lens, start: base + lens.start, end: base + lens.end })),
  )
}
