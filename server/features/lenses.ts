/** Lines above profiles, courses and runs: how many expectations hold, the way to all settings, the way to the charts. */

import { onceFor } from '../../grammar/once.ts'
import type { Span } from '../../grammar/tree.ts'
import { courseLines } from '../semantic/courses.ts'
import { mentions } from '../semantic/definitions.ts'
import { evaluate } from '../semantic/evaluate.ts'
import type { Judge } from '../semantic/expectations.ts'
import type { ResolvedProfile } from '../semantic/profile.ts'
import type { Workspace } from '../workspace/workspace.ts'
import type { BenchRuns } from './bench-runs.ts'
import { expectationsText } from './facts/definition.ts'
import { profilesOn } from './profiles.ts'
import { isSettled } from './settled.ts'

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

export function lenses(workspace: Workspace, uri: string, judge: Judge): readonly Lens[] {
  const view = workspace.view(uri)
  if (view === undefined) return []
  return view.predicted.flatMap(definition => {
    const base = view.document.starts.get(definition.chunk)
    if (base === undefined) return []
    const evaluation = evaluate(view.scope, definition)
    if (!expects(evaluation.profile)) return []
    const settled = isSettled(view, evaluation)
    const text = evaluation.input.bench === undefined ? undefined : expectationsText(judge(evaluation))
    const { start, end } = definition.nameSpan
    return [{ start: base + start, end: base + end, profile: definition.name, text, settled }]
  })
}
