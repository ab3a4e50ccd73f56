/** The tables of `needs` of a part, each with what trials show of the cores that it is for. */

import type { Match } from '../../../grammar/values.ts'
import { type Definition, entry, mentions } from '../../semantic/definitions.ts'
import { groupBlocks } from '../../semantic/group-constants.ts'
import type { PartEvidence } from './evidence.ts'

export interface NeedsTable {
  readonly table: Match
  readonly evidence: PartEvidence
  /** The group that it is for; undefined where all cores are alike. */
  readonly group: string | undefined
  /** Other groups take it as well: what one of them needs is no row for all. */
  readonly isShared: boolean
}

/** @param evidence of the part; without it there is nothing to show */
export function needsTables({ match }: Definition, evidence: PartEvidence | undefined): readonly NeedsTable[] {
  if (evidence === undefined) return []
  const whole = entry(match, 'needs')
  const groups = groupBlocks(match)
  if (groups.length === 0)
    return whole === undefined ? [] : [{ table: whole, evidence, group: undefined, isShared: false }]
  const heirs = groups.filter(({ block }) => !mentions(block, 'needs'))
  return groups.flatMap(({ name, block }): NeedsTable[] => {
    const isHeir = !mentions(block, 'needs')
    const [table, own] = [isHeir ? whole : entry(block, 'needs'), evidence.ofGroup(name)]
    if (table === undefined || own === undefined) return []
    return [{ table, evidence: own, group: name, isShared: isHeir && heirs.length > 1 }]
  })
}

/** Whether the part or one of its groups states any: without them nothing has to be weighed. */
export function hasNeeds({ match }: Definition): boolean {
  return (
    entry(match, 'needs') !== undefined || groupBlocks(match).some(({ block }) => entry(block, 'needs') !== undefined)
  )
}
