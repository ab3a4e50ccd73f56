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

/** So many are kept at least of a part on a cooler; more while one profile alone has more. */
const LEAST_KEPT = 1024

/** So many sets of board, limits and voltages have a number at once. */
const RESTS_KEPT = 16

interface Kept {
  /** By what decides, the least lately asked for first. */
  readonly byInputs: Map<string, unknown>
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

/** Whether what was settled under some `sustained-power`, or none, is settled under this one as well. */
function holdsUnder(settled: SettledState | null, sustainedW: number | undefined): boolean {
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
  let [asked, lastLoad, ofLoad] = [0, undefined as Work | undefined, '']
  return {
    of<T extends SettledState | null>(what: string, load: Work, { airC, humidityPct }: Corner, find: () => T): T {
      if (load !== lastLoad) {
        ofLoad = `${load.vector} ${load.uneven} ${rowsText(bench, load)}`
        lastLoad = load
      }
      asked++
      const unlimited = `${what} ${rest} ${airC} ${humidityPct} ${ofLoad}`
      const limited = `${unlimited} ${sustainedW}`
      const below = byInputs.get(unlimited) as T | undefined
      const isBelow = below !== undefined && holdsUnder(below, sustainedW)
      const found = isBelow ? below : ((byInputs.get(limited) as T | undefined) ?? find())
      const key = isBelow || found?.limiter !== 'sustained-power' ? unlimited : limited
      byInputs.delete(key)
      byInputs.set(key, found)
      return found
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
