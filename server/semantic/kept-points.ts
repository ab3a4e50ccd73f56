/**
 * What loads settle at, kept from one edit to the next: a row of `steps` or `bands` is for some numbers of active cores, and
 * at all others every load settles where it did.
 *
 * Invariant: two benches of one part and one cooler share what a load settles at only where board, limits, drive, fan and
 * voltages are equal, and each group that the load keeps busy has the same step, bands, `return` and `vector` at its
 * count. Nothing else of a profile reaches the model (sections 1, 7 and 10 read a group's rows at its own count alone).
 */

import { onceFor } from '../../grammar/once.ts'
import { activeGroups, groupSettings, stepRatio } from '../model/index.ts'
import type { Bench, Cooler, Corner, GroupLoad, GroupSettings, Load, Part } from '../model/types.ts'

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

/** All of a bench that is neither part nor cooler nor rows for some numbers of cores, nor of single groups (`return` and `vector` are in `rowsAt`). */
const restOf = onceFor(({ profile, board }: Bench): string => {
  const { limits, drive, fan, voltage, groups } = profile
  return JSON.stringify([limits, drive, fan, voltage, groups?.map(own => own.voltage), board])
})

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
  of<T>(what: string, load: Work, corner: Corner, find: () => T): T
  /** Lets go of what was not asked for lately. */
  done(): void
}

export function keptPoints(bench: Bench): KeptPoints {
  const kept = keptOf(bench.part)(bench.cooler)
  const { byInputs } = kept
  const rest = restNumber(kept, restOf(bench))
  let [asked, lastLoad, ofLoad] = [0, undefined as Work | undefined, '']
  return {
    of<T>(what: string, load: Work, { airC, humidityPct }: Corner, find: () => T): T {
      if (load !== lastLoad) {
        ofLoad = `${load.vector} ${load.uneven} ${rowsText(bench, load)}`
        lastLoad = load
      }
      asked++
      const key = `${what} ${rest} ${airC} ${humidityPct} ${ofLoad}`
      const known = byInputs.get(key)
      const found = known === undefined ? find() : (known as T)
      if (known !== undefined) byInputs.delete(key)
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
