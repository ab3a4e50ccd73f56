/**
 * A run's profile as it was when the run was made.
 *
 * What a person enters (steps, bands, voltages, limits, drive, fan, and which part, cooler, room and board they are for)
 * is taken from the revision that the run names. What describes the bench (the constants of those, and the load) is taken
 * from now: the part and the cooler are the same things, and what is known of them has become better since. Without that a
 * fit could never bring the prediction of an older run closer.
 */

import { keptWhile } from '../../../grammar/once.ts'
import { partOfGroup } from '../../model/index.ts'
import type { CoreVoltage, Part } from '../../model/types.ts'
import { interpolateRows, isByNeeds, setVoltageRows } from '../../model/voltage.ts'
import { partConstants } from '../../semantic/constants.ts'
import { type Evaluation, evaluate, restsOn } from '../../semantic/evaluate.ts'
import { inputOf } from '../../semantic/input.ts'
import type { RunsOverTime } from '../../semantic/over-time.ts'
import { type ResolvedProfile, resolveProfile } from '../../semantic/profile.ts'
import { nextScopeId, type Scope } from '../../semantic/scope.ts'
import type { RunRecord } from './record.ts'

/** What is known of the revision that a run names. */
export type RunRevision =
  | { readonly state: 'pending' }
  /** @property isNowhere no revision can be read, as in an editor that is a page */
  | { readonly state: 'not-had'; readonly why: string; readonly isNowhere?: true }
  /** The definitions that the profile's file saw then. */
  | { readonly state: 'had'; readonly scope: Scope }

/** Which settings a run is compared with. */
export type RunSettings =
  /** It names no revision. */
  | { readonly from: 'now' }
  /** Nothing that bears on a prediction was set otherwise then. */
  | { readonly from: 'unchanged'; readonly revision: string }
  | { readonly from: 'revision'; readonly revision: string }
  | { readonly from: 'pending'; readonly revision: string }
  /** Those of now, for lack of the revision. */
  | { readonly from: 'not-had'; readonly revision: string; readonly why: string; readonly isNowhere?: true }

export interface RunProfile {
  /** Undefined where there is no such profile. */
  readonly evaluation: Evaluation | undefined
  readonly settings: RunSettings
  /** The profile at the run's revision, where that can be read. */
  readonly asRun?: ResolvedProfile
  /** The same with the constants of the bench as they were known then. */
  readonly asKnownThen?: ResolvedProfile
}

/** Profiles of then among the definitions of now; what is gone since is found as it was. */
function mixedScope(now: Scope, then: Scope): Scope {
  return {
    id: nextScopeId(),
    names: {},
    looked: {},
    reads: new Set(),
    overTime: now.overTime,
    find: (kind, name) =>
      kind === 'profile' ? then.find(kind, name) : (now.find(kind, name) ?? then.find(kind, name)),
    all: kind => {
      if (kind === 'profile') return then.all(kind)
      const own = now.all(kind)
      return [...own, ...then.all(kind).filter(({ name }) => !own.some(one => one.name === name))]
    },
  }
}

/**
 * The set voltages of then beside the measured needs of now. Where the needs were measured again since, voltages that rest
 * on them were others in the firmware: those rows stand as entered, straight between them.
 */
function voltageOfThen(voltage: CoreVoltage, then: Part | undefined, now: Part): CoreVoltage {
  if (!isByNeeds(voltage) || then === undefined) return voltage
  const rows = setVoltageRows(then, voltage)
  const before = JSON.stringify(rows)
  if (rows.length === 0 || JSON.stringify(setVoltageRows(now, voltage)) === before) return voltage
  const between = now.needs
    .filter(({ ratio }) => !rows.some(row => row.ratio === ratio))
    .map(({ ratio }) => ({ ratio, voltageV: interpolateRows(rows, ratio) }))
  return { kind: 'needs', offsetV: 0, set: [...rows, ...between].sort((a, b) => a.ratio - b.ratio) }
}

function evaluateThen(profile: ResolvedProfile, then: Scope, overTime: RunsOverTime): Evaluation {
  const input = inputOf(profile)
  const { bench } = input
  const partThen = profile.part && then.find('part', profile.part.name)
  if (bench === undefined) return { profile, input, predictions: [], overTime }
  const stood = partThen && partConstants(partThen).value
  const voltage = voltageOfThen(bench.profile.voltage, stood, bench.part)
  const groups = bench.profile.groups?.map((own, index) => {
    const name = bench.part.groups?.[index]?.name
    const at = stood?.groups?.findIndex(group => group.name === name) ?? -1
    const before = stood === undefined || at < 0 ? undefined : partOfGroup(stood, at)
    return { ...own, voltage: voltageOfThen(own.voltage, before, partOfGroup(bench.part, index)) }
  })
  return {
    profile,
    input: { ...input, bench: { ...bench, profile: { ...bench.profile, voltage, ...(groups && { groups }) } } },
    predictions: [],
    overTime,
  }
}

/** Whether two evaluations are of one bench with one setting. */
function isSame(a: Evaluation, b: Evaluation): boolean {
  const kinds = ['part', 'cooler', 'room', 'board'] as const
  return (
    kinds.every(kind => a.profile[kind] === b.profile[kind]) &&
    JSON.stringify(a.input.bench?.profile) === JSON.stringify(b.input.bench?.profile)
  )
}

/** Evicted with the run's record; replaced when the profile of now, or anything that the one of then rests on, is another. */
const known = keptWhile<RunRecord, RunProfile>()

/**
 * The profile that a run is compared with, with its settings at the run's revision where that can be read.
 * @param scope what the run's file sees now
 */
export function profileOfRun(scope: Scope, record: RunRecord, revision: RunRevision | undefined): RunProfile {
  const definition = scope.find('profile', record.profile)
  const now = definition && evaluate(scope, definition)
  if (record.revision === undefined) return { evaluation: now, settings: { from: 'now' } }
  const named = { revision: record.revision }
  if (revision === undefined || revision.state === 'pending') {
    return { evaluation: now, settings: { from: 'pending', ...named } }
  }
  if (revision.state === 'not-had') {
    const { state, ...why } = revision
    return { evaluation: now, settings: { from: state, ...named, ...why } }
  }
  const mixed = mixedScope(scope, revision.scope)
  const older = mixed.find('profile', record.profile)
  if (older === undefined) {
    const why = `that revision has no profile ${record.profile}`
    return { evaluation: now, settings: { from: 'not-had', ...named, why } }
  }
  const profile = resolveProfile(mixed, older)
  const rests = [now, ...restsOn(profile)]
  const before = known.of(record, rests)
  if (before !== undefined) return before
  const then = evaluateThen(profile, revision.scope, scope.overTime)
  const own = revision.scope.find('profile', record.profile)
  const both = { asRun: profile, ...(own === undefined ? {} : { asKnownThen: resolveProfile(revision.scope, own) }) }
  const found: RunProfile =
    now !== undefined && isSame(now, then)
      ? { evaluation: now, settings: { from: 'unchanged', ...named }, ...both }
      : { evaluation: then, settings: { from: 'revision', ...named }, ...both }
  return known.keep(record, rests, found)
}
