/** What a load settles at in each corner of a room, without asking the model twice for the same. */

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
