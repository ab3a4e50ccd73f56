/**
 * What loads settle at, kept from one edit to the next: a row of `steps` or `bands` is for some numbers of active cores, and
 * at all others every load settles where it did.
 *
 * Invariant: two benches of one part and one cooler share what a load settles at only where board, limits, drive, fan and
 * voltages are equal, and each group that the load keeps busy has the same step, bands, `return` and `vector` at its
 * count. Nothing else of a profile reaches the model (sections 1, 7 and 10 read a group's rows at its own count alone).
 * Of the limits `sustained-power` may differ where the load stays below it: it is looked at last and then changes nothing
 * (section 8).
 */

import { onceFor } from '../../grammar/once.ts'
import { activeGroups, groupSettings, stepRatio } from '../model/index.ts'
import type { Bench, Cooler, Corner, GroupLoad, GroupSettings, Load, Part, SettledState } from '../model/types.ts'

type Work = Extract<Load, { readonly kind: 'work' }>

/** Of a part on a cooler, points of at least so many loads are kept; of more while one profile alone has more. */
const LEAST_KEPT = 256

/** So many points are kept of one load, in rooms and under limits of all profiles; beyond that the oldest is evicted. */
const POINTS_KEPT = 32

/** So many sets of board, limits and voltages have a number at once. */
const RESTS_KEPT = 16

/** What a load settled at in one corner. */
interface KeptPoint {
  readonly airC: number
  readonly humidityPct: number
  /** The `sustained-power` that it was held at; undefined where none held it. */
  readonly heldW: number | undefined
  readonly settled: SettledState | null
}

interface Kept {
  /** The key is what decides, without the corner and `sustained-power`, the least lately asked for first. */
  readonly byInputs: Map<string, KeptPoint[]>
  /** Numbers that stand for what `restOf` says, the least lately asked for first; none comes twice. */
  readonly rests: Map<string, number>
  nextRest: number
}

/** Evicted with the part's or the cooler's chunk; each entry once so many others were asked for after it. */
const keptOf = onceFor((_part: Part) =>
  onceFor((_cooler: Cooler): Kept => ({ byInputs: new Map(), rests: new Map(), nextRest: 0 })),
)

function restNumber(kept: Kept, rest: string): number {
  const { rests } = kept
  const number = rests.get(rest) ?? kept.nextRest++
  rests.delete(rest)
  rests.set(rest, number)
  for (const oldest of rests.keys()) {
    if (rests.size <= RESTS_KEPT) break
    rests.delete(oldest)
  }
  return number
}

/**
 * All of a bench that is neither part nor cooler nor rows for some numbers of cores, nor of single groups (`return` and
 * `vector` are in `rowsAt`), nor of `sustained-power`.
 */
const restOf = onceFor(({ profile, board }: Bench): string => {
  const { limits, drive, fan, voltage, groups } = profile
  const { sustainedPowerW: _power, sustainedOverS: _time, ...others } = limits
  return JSON.stringify([others, drive, fan, voltage, groups?.map(own => own.voltage), board])
})

/** Far more than the power of a settled load is off by rounding. */
const ROUNDED = 1 + 1e-6

/** Whether what was settled before is what settles under this `sustained-power`. */
function holdsUnder({ heldW, settled }: KeptPoint, sustainedW: number | undefined): boolean {
  if (heldW !== undefined) return heldW === sustainedW
  // Without a ratio, or where no limit is, there is nothing to limit.
  if (settled === null || sustainedW === undefined) return true
  return settled.powerW !== null && settled.powerW * ROUNDED <= sustainedW
}

/** What a group is set to at a number of active cores. */
function rowsAt(settings: GroupSettings, cores: number): string {
  let text = `${stepRatio(settings, cores)} ${settings.returnK} ${settings.vectorDrop}`
  for (const { fromCores, toCores, aboveC, drop } of settings.bands) {
    if (cores >= fromCores && cores <= toCores) text += ` ${aboveC} ${drop}`
  }
  return text
}

/** What the groups that a load keeps busy are set to at their counts. */
function rowsText({ part, profile }: Bench, load: Work): string {
  const { groups } = load
  if (part.groups === undefined || groups === undefined) {
    return activeGroups(part, load)
      .map(
        ({ index, cores, activity }) => `${index} ${cores} ${activity} ${rowsAt(groupSettings(profile, index), cores)}`,
      )
      .join(';')
  }
  let text = ''
  for (let index = 0; index < groups.length; index++) {
    const { cores, activity } = groups[index] as GroupLoad
    if (cores > 0) text += `${index} ${cores} ${activity} ${rowsAt(groupSettings(profile, index), cores)};`
  }
  return text
}

/** What was found before of loads on benches of a part and a cooler, or is found now. */
export interface KeptPoints {
  /** @param find what `what` is; it may rest on the bench, the load and the corner alone */
  of<T extends SettledState | null>(what: string, load: Work, corner: Corner, find: () => T): T
  /** Lets go of what was not asked for lately. */
  done(): void
}

export function keptPoints(bench: Bench): KeptPoints {
  const kept = keptOf(bench.part)(bench.cooler)
  const { byInputs } = kept
  const rest = restNumber(kept, restOf(bench))
  const { sustainedPowerW: sustainedW } = bench.profile.limits
  let asked = 0
  let last: { readonly what: string; readonly load: Work; readonly points: KeptPoint[] } | undefined
  const pointsOf = (what: string, load: Work): KeptPoint[] => {
    if (last?.load === load && last.what === what) return last.points
    asked++
    const key = `${what} ${rest} ${load.vector} ${load.uneven} ${rowsText(bench, load)}`
    const points = byInputs.get(key) ?? []
    byInputs.delete(key)
    byInputs.set(key, points)
    last = { what, load, points }
    return points
  }
  return {
    of<T extends SettledState | null>(what: string, load: Work, { airC, humidityPct }: Corner, find: () => T): T {
      const points = pointsOf(what, load)
      for (const point of points) {
        if (point.airC !== airC || point.humidityPct !== humidityPct) continue
        if (holdsUnder(point, sustainedW)) return point.settled as T
      }
      const settled = find()
      points.push({
        airC,
        humidityPct,
        heldW: settled?.limiter === 'sustained-power' ? sustainedW : undefined,
        settled,
      })
      if (points.length > POINTS_KEPT) points.shift()
      return settled
    },
    done() {
      const most = Math.max(LEAST_KEPT, 2 * asked)
      for (const key of byInputs.keys()) {
        if (byInputs.size <= most) break
        byInputs.delete(key)
      }
    },
  }
}
