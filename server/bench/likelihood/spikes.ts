/** Readings that are not the figure's: single ones that stand out from all around them. */

import { SD_PER_MEDIAN_DEVIATION } from '../statistics/moments.ts'

/** Window and limits are engineering judgement. */
const HALF_WINDOW = 7
const STANDS_OUT = 6
/** Where more than this share stands out the figure itself goes up and down: those are not spikes. */
const MOST_SHARE = 0.03

const medianOf = (values: number[]): number => {
  values.sort((a, b) => a - b)
  const half = values.length >> 1
  return values.length % 2 === 1
    ? (values[half] as number)
    : ((values[half - 1] as number) + (values[half] as number)) / 2
}

/**
 * The same readings, section by section, with NaN in the place of those that stand out from the median around them by six
 * of their robust standard deviations while both neighbours do not (Hampel's identifier: L. Davies and U. Gather, J. Am.
 * Stat. Assoc. 88, 1993; cited from memory). One that lies between its two neighbours is kept. The very same array where
 * there are none, or too many to be faults.
 */
export function withoutSpikes(
  values: Float64Array,
  sections: readonly { readonly from: number; readonly to: number }[],
): Float64Array {
  const n = values.length
  const odd = new Uint8Array(n)
  let count = 0
  for (const { from, to } of sections)
    for (let at = from; at < to; at++) {
      const own = values[at] as number
      if (Number.isNaN(own)) continue
      const around: number[] = []
      // Near the end of a section as many are looked at, of one side.
      const first = Math.max(from, Math.min(at - HALF_WINDOW, to - 1 - 2 * HALF_WINDOW))
      for (let near = first; near <= Math.min(to - 1, first + 2 * HALF_WINDOW); near++) {
        if (near !== at && !Number.isNaN(values[near])) around.push(values[near] as number)
      }
      if (around.length < HALF_WINDOW) continue
      const median = medianOf(around)
      const spread = SD_PER_MEDIAN_DEVIATION * medianOf(around.map(value => Math.abs(value - median)))
      // Where readings hardly move, one step of the sensor is no spike.
      if (Math.abs(own - median) > Math.max(STANDS_OUT * spread, 0.02 * Math.abs(median))) {
        odd[at] = 1
        count++
      }
    }
  if (count === 0 || count > MOST_SHARE * n) return values
  const isAlone = (at: number): boolean => odd[at - 1] !== 1 && odd[at + 1] !== 1
  // On its way from one level to another, as the first reading under a load is.
  const isOnItsWay = (at: number): boolean => {
    const [before, own, after] = [at - 1, at, at + 1].map(one => values[one] as number) as [number, number, number]
    return (before < own && own < after) || (before > own && own > after)
  }
  return values.map((value, at) => (odd[at] === 1 && isAlone(at) && !isOnItsWay(at) ? Number.NaN : value))
}
