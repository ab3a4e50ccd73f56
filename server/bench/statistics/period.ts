/** Whether a series of evenly spaced readings swings evenly, and how fast. */

import { autocorrelationAt, meanOf } from './moments.ts'

/** A swing that is worth the name: so much of the variance comes back a period later. */
const COMES_BACK = 0.5
const LEAST_PERIODS = 12
const LEAST_READINGS = 4

/** The period of a series in readings, to a fraction of one; undefined where it has none. */
export function periodOf(values: Float64Array): number | undefined {
  const n = values.length
  const mean = meanOf(values)
  // Of long lags fewer pairs are left to sum.
  const at = (lag: number): number => (autocorrelationAt(values, lag, mean) * n) / (n - lag)
  const most = Math.floor(n / LEAST_PERIODS)
  const all = Float64Array.from({ length: most + 1 }, (_, lag) => at(lag))
  const below = all.findIndex(value => value < 0)
  if (below < 0) return undefined
  const highest = Math.max(...all.subarray(below))
  if (!(highest > COMES_BACK)) return undefined
  // Every other period comes back as well: the first counts.
  let first = all.findIndex((value, lag) => lag > below && value > 0.85 * highest)
  while (first < most && (all[first + 1] as number) > (all[first] as number)) first++
  let period = first
  for (let times = 2; times * period < n / 2; times *= 2) {
    const around = Math.round(times * period)
    const reach = Math.max(1, Math.round(period / 4))
    let best = around
    let [height, from] = [at(around), around - reach]
    for (; from <= around + reach; from++) {
      const own = at(from)
      if (own > height) [height, best] = [own, from]
    }
    period = best / times
  }
  return period >= LEAST_READINGS ? period : undefined
}
