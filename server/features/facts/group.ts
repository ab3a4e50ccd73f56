/** A profile's predictions as one group of its part's cores has them. */

import type { Match } from '../../../grammar/values.ts'
import { benchOfGroup, isWork } from '../../model/index.ts'
import type { Part, Settled } from '../../model/types.ts'
import { nameAfter, text } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { settledOfGroup } from '../../semantic/group-settled.ts'
import { type GroupView, groupView } from '../../semantic/group-view.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { Prediction } from '../../semantic/predict.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'

/** Whether the one is what a person has to know first: no clock, a slower one, a warmer die. */
function isWorse(one: Settled, other: Settled): boolean {
  const [a, b] = [one, other].map(({ clockMhz }) => clockMhz ?? Number.NEGATIVE_INFINITY) as [number, number]
  return a < b || (a === b && (one.dieC ?? Number.POSITIVE_INFINITY) > (other.dieC ?? Number.POSITIVE_INFINITY))
}

/**
 * The evaluation for one group alone: its rows, counts and ratios, and of each load at a count of the group the worst
 * that it comes to, whatever the others do. A group's figures alone are not for draws: they have no interval.
 */
export function evaluationOfGroup(evaluation: Evaluation, group: string): Evaluation & { readonly profile: GroupView } {
  const { profile, input, predictions } = evaluation
  const index = partNames(profile.part).groups.indexOf(group)
  const worst = new Map<string, Prediction>()
  for (const prediction of predictions) {
    const { load, corner, settled } = prediction
    const cores = isWork(load.load) ? (settled.groups?.[index]?.cores ?? 0) : 0
    if (!isWork(load.load) || cores === 0) continue
    const own = settledOfGroup(settled, index)
    const key = `${load.name} ${cores} ${corner.airC} ${corner.humidityPct}`
    const before = worst.get(key)
    if (before !== undefined && !isWorse(own, before.settled)) continue
    const { groups: _, ...work } = load.load
    worst.set(key, { ...prediction, load: { ...load, load: { ...work, cores } }, settled: own })
  }
  const found = [...worst.values()]
  const bench = input.bench && benchOfGroup(input.bench, index)
  return {
    ...evaluation,
    profile: groupView(profile, group),
    input: { ...input, bench, loads: [...new Set(found.map(({ load }) => load))] },
    predictions: found,
  }
}

/** The groups that a row of a profile's own table holds for; none where all cores are alike. */
export function groupsOfRow(profile: ResolvedProfile, row: Match): readonly string[] {
  const { groups } = partNames(profile.part)
  if (groups.length === 0) return []
  const table = profile.definition.match.children.find(({ children }) => children.includes(row))
  const word = table?.word?.word
  if (table === undefined || word === undefined) return []
  const name = nameAfter(table)
  return groups.filter(group => group === name || profile.key(word, group)?.match === table)
}

/** Place of the group whose block a row or key of a part stands in, in the part's order; 0 elsewhere. */
export function groupAround(part: Part, definition: Match, inner: Match): number {
  const block = definition.children.find(child => child.word?.word === 'group' && holds(child, inner))
  const name = block && text(block, 'name')?.text
  return Math.max(0, part.groups?.findIndex(group => group.name === name) ?? 0)
}

function holds(block: Match, inner: Match): boolean {
  return block.children.some(child => child === inner || holds(child, inner))
}
