/** The corners of a room, without asking the model twice for the same. */

import { type Bench, type Corner, type SettledState, wetPointC } from '../model/index.ts'
import { mindsHumidity } from './drives.ts'

/**
 * What `settle` says of each corner, in their order; corners of one air temperature share the answer but for the wet
 * point where humidity does not matter.
 */
export function inCorners<S extends SettledState>(
  bench: Bench,
  corners: readonly Corner[],
  settle: (corner: Corner) => S | null,
): readonly (S | undefined)[] {
  if (mindsHumidity(bench)) return corners.map(corner => settle(corner) ?? undefined)
  const byAir = new Map<number, S | null>()
  return corners.map(corner => {
    const { airC, humidityPct } = corner
    const before = byAir.get(airC)
    if (before) return { ...before, wetC: wetPointC(airC, humidityPct) }
    const settled = before === null ? null : settle(corner)
    byAir.set(airC, settled)
    return settled ?? undefined
  })
}

/** The corners of a room that differ in more than the wet point, each with those that are like it. */
export function distinctCorners(
  bench: Bench,
  corners: readonly Corner[],
): readonly { readonly corner: Corner; readonly alike: readonly Corner[] }[] {
  if (mindsHumidity(bench)) return corners.map(corner => ({ corner, alike: [corner] }))
  const airs = [...new Set(corners.map(({ airC }) => airC))]
  return airs.map(airC => {
    const alike = corners.filter(one => one.airC === airC)
    return { corner: alike[0] as Corner, alike }
  })
}
