/** What a load settles at as one group of the part's cores has it. */

import type { SettledState } from '../model/types.ts'
import type { Evaluation } from './evaluate.ts'
import { partNames } from './part-names.ts'

/** What a load settles at, its clock, ratios and voltages those of one group. */
export function settledOfGroup<T extends SettledState>(settled: T, index: number): T {
  const { groups, notes, ...whole } = settled
  const own = groups?.[index]
  if (own === undefined) return settled
  const { ratio, ratioLow, ratioHigh, clockMhz, setV, voltageV, needV, currentA } = own
  const { groups: noted, ...rest } = notes
  const seen = {
    ...whole,
    ratio,
    ratioLow,
    ratioHigh,
    clockMhz,
    setV,
    voltageV,
    needV,
    currentA,
    limiter: noted?.[index]?.limiter ?? settled.limiter,
    notes: { ...rest, voltages: noted?.[index]?.voltages ?? [] },
  }
  return seen as SettledState as T
}

/** The place of a group in the order of a profile's part; undefined where no group is named, or the part has none of that name. */
export function groupIndex({ profile }: Evaluation, group: string | undefined): number | undefined {
  const index = group === undefined ? -1 : partNames(profile.part).groups.indexOf(group)
  return index < 0 ? undefined : index
}
