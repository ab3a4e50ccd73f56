/** A profile's predictions as one group of its part's cores has them. */

import type { Match } from '../../../grammar/values.ts'
import { groupBench } from '../../checks/support/group-voltages.ts'
import { isWork } from '../../model/index.ts'
import type { Part } from '../../model/types.ts'
import { mentions, nameAfter } from '../../semantic/definitions.ts'
import type { Evaluation } from '../../semantic/evaluate.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import { settledOfGroup } from '../../semantic/group-settled.ts'
import { type GroupView, groupView } from '../../semantic/group-view.ts'
import type { LoadCase } from '../../semantic/load-cases.ts'
import { partNames } from '../../semantic/part-names.ts'
import type { ResolvedProfile } from '../../semantic/profile.ts'
import { listed } from '../../wording/counts.ts'

/** ` beside 2 of broad`, or ` alone`: what other groups do where a load goes with several numbers of them. */
function besideText({ load }: LoadCase, index: number, names: readonly string[]): string {
  const others = isWork(load) ? (load.groups ?? []) : []
  const busy = others.flatMap(({ cores }, at) => (at === index || cores === 0 ? [] : [`${cores} of ${names[at]}`]))
  return busy.length === 0 ? ' alone' : ` beside ${listed(busy)}`
}

/**
 * The loads as one group has them, by the loads that they come from: those that keep it busy, with its count alone, and
 * with what the others do where there are several mixes with that count.
 */
function loadsOfGroup(
  loads: readonly LoadCase[],
  index: number,
  names: readonly string[],
): ReadonlyMap<LoadCase, LoadCase> {
  const ownCores = ({ load }: LoadCase): number => (isWork(load) ? (load.groups?.[index]?.cores ?? 0) : 0)
  const mixes = new Map<string, number>()
  const key = (load: LoadCase): string => `${load.name} ${ownCores(load)}`
  for (const load of loads) mixes.set(key(load), (mixes.get(key(load)) ?? 0) + 1)
  const found = new Map<LoadCase, LoadCase>()
  for (const one of loads) {
    const cores = ownCores(one)
    if (!isWork(one.load) || cores === 0) continue
    const { groups: _, ...work } = one.load
    const beside = (mixes.get(key(one)) ?? 0) > 1 ? { beside: besideText(one, index, names) } : {}
    found.set(one, { ...one, load: { ...work, cores }, ...beside })
  }
  return found
}

/**
 * The evaluation for one group alone: its rows, counts and ratios, and of each load that keeps it busy what the group
 * comes to. A group's figures alone are not for draws: they have no interval.
 */
export function evaluationOfGroup(evaluation: Evaluation, group: string): Evaluation & { readonly profile: GroupView } {
  const { profile, input, predictions } = evaluation
  const names = partNames(profile.part).groups
  const index = names.indexOf(group)
  const loads = loadsOfGroup(input.loads, index, names)
  const found = predictions.flatMap(prediction => {
    const load = loads.get(prediction.load)
    return load === undefined ? [] : [{ ...prediction, load, settled: settledOfGroup(prediction.settled, index) }]
  })
  const bench = input.bench && groupBench(input.bench, index)
  return {
    ...evaluation,
    profile: groupView(profile, group),
    input: { ...input, bench, loads: [...loads.values()] },
    predictions: found,
  }
}

/** The groups that a row of a profile's own table holds for; none where all cores are alike. */
export function groupsOfRow(profile: ResolvedProfile, row: Match): readonly string[] {
  const table = profile.definition.match.children.find(({ children }) => children.includes(row))
  return table === undefined ? [] : groupsOfTable(profile, table)
}

/** The groups that a profile's own table holds for; none where all cores are alike. */
export function groupsOfTable(profile: ResolvedProfile, table: Match): readonly string[] {
  const { groups } = partNames(profile.part)
  const word = table.word?.word
  if (word === undefined) return []
  const name = nameAfter(table)
  return groups.filter(group => group === name || profile.key(word, group)?.match === table)
}

/**
 * Places, in the part's order, of the groups that a row or key of a part is of: the one in whose block it stands, or of a
 * key of the part those that have none of their own. None where all cores are alike.
 */
export function groupsOfKey(part: Part, definition: Match, inner: Match): readonly number[] {
  const blocks = groupBlocks(definition)
  const at = (name: string): number => part.groups?.findIndex(group => group.name === name) ?? -1
  const own = blocks.find(({ block }) => holds(block, inner))
  // A row of a table is of who states the table.
  const key = definition.children.find(child => child === inner || holds(child, inner))?.word?.word ?? ''
  const of = own === undefined ? blocks.filter(({ block }) => !mentions(block, key)) : [own]
  return of.map(({ name }) => at(name)).filter(index => index >= 0)
}

function holds(block: Match, inner: Match): boolean {
  return block.children.some(child => child === inner || holds(child, inner))
}
