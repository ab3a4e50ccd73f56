/** The highest voltages that a profile sets, beside what its part allows. */

import { groupVoltages } from '../checks/support/group-voltages.ts'
import { usedRatios } from '../checks/support/physics-voltage.ts'
import { coreVoltageRange } from '../semantic/constants.ts'
import type { Evaluation } from '../semantic/evaluate.ts'

/** What a group of cores is set to at most, in V; of a part whose cores are all alike the one voltage. */
export interface HighestSet {
  /** Undefined where all cores are alike. */
  readonly group: string | undefined
  readonly setV: number
  /** The least that any group on its rail allows: what one of them asks for reaches them all. */
  readonly allowedV: number
}

/** In the part's order; none where nothing can be predicted. */
export function highestSet(evaluation: Evaluation): readonly HighestSet[] {
  const { profile, input } = evaluation
  const { bench } = input
  if (bench === undefined) return []
  if (bench.part.groups === undefined) {
    const range = profile.part && coreVoltageRange(profile.part)
    if (range === undefined) return []
    const setV = Math.max(0, ...usedRatios(evaluation).map(one => one.setV))
    return [{ group: undefined, setV, allowedV: range.highV }]
  }
  const found = new Map<string, HighestSet>()
  for (const { group, setV, range } of groupVoltages(evaluation, bench)) {
    const before = found.get(group)
    const allowedV = Math.min(range.highV, before?.allowedV ?? Number.POSITIVE_INFINITY)
    found.set(group, { group, setV: Math.max(setV, before?.setV ?? 0), allowedV })
  }
  return [...found.values()]
}
