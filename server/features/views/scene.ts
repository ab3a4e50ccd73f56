/** What a view is drawn from: a profile in the corners that are asked for, and where its lines stand. */

import type { Match } from '../../../grammar/values.ts'
import type { MarkPlace } from '../../charts/picture.ts'
import { type Bench, type Corner, coresOf, isWork, type Load, type Settled, settle } from '../../model/index.ts'
import { loadConstants } from '../../semantic/constants.ts'
import { counts, type Definition, quantity } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { whyUnpredicted } from '../../semantic/expectations.ts'
import { type Sourced, tableRows } from '../../semantic/profile.ts'
import type { Workspace } from '../../workspace/workspace.ts'

/** Conditions in the place of those that stand in the file. */
export interface WhatIf {
  readonly airC?: number | undefined
  readonly humidityPct?: number | undefined
  /** A constant fan duty. */
  readonly fanPct?: number | undefined
}

/** A load at one core count in one corner, and what it settles at. */
export interface Case {
  readonly name: string
  readonly definition: Definition | undefined
  readonly load: Load
  readonly cores: number
  readonly corner: Corner
  readonly settled: Settled
}

export interface Scene {
  readonly evaluation: Evaluation
  readonly name: string
  readonly bench: Bench
  readonly corners: readonly Corner[]
  readonly cases: readonly Case[]
  readonly isWhatIf: boolean
  placeOf(definition: Definition | undefined, match?: Match): MarkPlace | undefined
}

/** The name under which every core at work, without vector work, is asked for. */
export const fullActivity = 'full activity'

/** A stretch of a definition in the offsets of its file, which the profile's own need not see: a trial may stand anywhere. */
function placeIn(
  workspace: Workspace,
  definition: Definition | undefined,
  match: Match | undefined,
): MarkPlace | undefined {
  if (definition === undefined) return undefined
  const document = [...workspace.documents()].find(({ starts }) => starts.has(definition.chunk))
  const base = document?.starts.get(definition.chunk)
  if (document === undefined || base === undefined) return undefined
  const items = match?.statement.items ?? []
  const span =
    match === undefined
      ? definition.nameSpan
      : { start: match.statement.start, end: items.at(-1)?.end ?? match.statement.end }
  return { uri: document.uri, start: base + span.start, end: base + span.end }
}

const same = (corner: Corner, whatIf: WhatIf): Corner => ({
  airC: whatIf.airC ?? corner.airC,
  humidityPct: whatIf.humidityPct ?? corner.humidityPct,
})

/** @returns undefined where the profile cannot be predicted */
export function sceneOf(workspace: Workspace, evaluation: Evaluation, whatIf: WhatIf = {}): Scene | undefined {
  const { input, predictions, profile } = evaluation
  if (input.bench === undefined || input.corners.length === 0) return undefined
  const isWhatIf = Object.values(whatIf).some(value => value !== undefined)
  const fan = whatIf.fanPct === undefined ? input.bench.profile.fan : [{ coolantC: 0, dutyPct: whatIf.fanPct }]
  const bench = whatIf.fanPct === undefined ? input.bench : { ...input.bench, profile: { ...input.bench.profile, fan } }
  const corners = [
    ...new Map(
      input.corners.map(corner => same(corner, whatIf)).map(one => [`${one.airC} ${one.humidityPct}`, one]),
    ).values(),
  ]
  const cases = isWhatIf
    ? input.loads.flatMap(({ name, definition, load }) =>
        corners.flatMap((corner): Case[] => {
          const settled = settle(bench, load, corner)
          return settled === null ? [] : [{ name, definition, load, cores: coresOf(load), corner, settled }]
        }),
      )
    : predictions.map(({ load: { name, definition, load }, corner, settled }) => {
        return { name, definition, load, cores: coresOf(load), corner, settled }
      })
  const placeOf: Scene['placeOf'] = (definition, match) => placeIn(workspace, definition, match)
  return { evaluation, name: profile.definition.name, bench, corners, cases, isWhatIf, placeOf }
}

/** The load of this name as work on any number of cores; full activity without a name; undefined where there is none. */
function workOf(
  { evaluation }: Scene,
  name: string | undefined,
): Omit<Extract<Load, { kind: 'work' }>, 'cores'> | undefined {
  if (name === undefined || name === fullActivity) return { kind: 'work', activity: 1, vector: false }
  const definition = evaluation.profile.loads.find(one => one.name === name)
  const work = definition && loadConstants(definition).value?.work
  return work && { kind: 'work', ...work }
}

/** The cases of a load at its most cores, or of full activity on all cores that a step covers. */
export function casesOf(scene: Scene, name: string | undefined): readonly Case[] {
  const { bench, corners, cases } = scene
  if (name !== undefined && name !== fullActivity) {
    const own = cases.filter(one => one.name === name)
    const most = Math.max(...own.map(({ cores }) => cores))
    return own.filter(({ cores }) => cores === most)
  }
  const work = workOf(scene, undefined)
  if (work === undefined) return []
  for (let cores = bench.part.cores; cores > 0; cores--) {
    const load: Load = { ...work, cores }
    const found = corners.flatMap((corner): Case[] => {
      const settled = settle(bench, load, corner)
      return settled === null ? [] : [{ name: fullActivity, definition: undefined, load, cores, corner, settled }]
    })
    if (found.length > 0) return found
  }
  return []
}

/** Why there is no case of a load to draw, in words. */
export function whyNotDrawn(evaluation: Evaluation, load: string | undefined): string {
  if (load === undefined || load === fullActivity) return 'no row of `steps` covers a core'
  const isPredicted = evaluation.predictions.some(one => one.load.name === load)
  return isPredicted ? 'it starts from an idle bench, which has no steady state' : whyUnpredicted(evaluation, load)
}

/** The case with the least margin; one that runs away is worse than any. */
export function worstOf(cases: readonly Case[]): Case | undefined {
  const margin = ({ settled }: Case): number => settled.marginW ?? Number.NEGATIVE_INFINITY
  return cases.reduce<Case | undefined>(
    (worst, one) => (worst === undefined || margin(one) < margin(worst) ? one : worst),
    undefined,
  )
}

export const isBusy = ({ load }: Case): boolean => isWork(load)

/** The row of `steps` that a core count has its ratio from. @param group whose count it is */
export function stepRow({ evaluation: { profile } }: Scene, cores: number, group?: string): Sourced | undefined {
  return tableRows(profile, 'steps', group).find(({ match }) => {
    const range = counts(match, 'cores')
    return range !== undefined && cores >= range.from && cores <= range.to
  })
}

/** The row of `bands` that a core count has this threshold from: of some the one that gives back most. */
export function bandRow(
  { evaluation: { profile } }: Scene,
  cores: number,
  aboveC: number,
  group?: string,
): Sourced | undefined {
  const found = tableRows(profile, 'bands', group).filter(({ match }) => {
    const range = counts(match, 'cores')
    return range !== undefined && cores >= range.from && cores <= range.to && quantity(match, 'above')?.value === aboveC
  })
  return found.toSorted((a, b) => (quantity(b.match, 'drop')?.value ?? 0) - (quantity(a.match, 'drop')?.value ?? 0))[0]
}

/** The line of the profile that decides the die's ceiling: its own limit, else the part's. */
export function ceilingPlace(scene: Scene): MarkPlace | undefined {
  const { profile } = scene.evaluation
  const own = profile.inner('limits', 'die')
  if (own !== undefined) return scene.placeOf(own.definition, own.match)
  const { part } = profile
  return scene.placeOf(
    part,
    part?.match.children.find(({ word }) => word?.word === 'die-limit'),
  )
}
