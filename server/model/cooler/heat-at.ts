/** A curve read backward by its forward values, for kinds that have no shorter way. */

import { rootBetween } from '../root.ts'
import { emptyPoint, type PlateCurve } from './curve.ts'

/** Heat beyond this is as good as any. */
const MOST_W = 1e9
const FIRST_W = 64

const point = emptyPoint()

/** Largest heat with plate + `packageKPerW` · heat ≤ `temperatureC`; the curve may jump. */
export function heatAtOn(curve: PlateCurve, packageKPerW: number, temperatureC: number): number {
  if (curve.linear) return (temperatureC - curve.lineC) / (curve.lineKPerW + packageKPerW)
  const overAt = (heatW: number): number => {
    curve.evaluate(heatW, point)
    return point.plateC + packageKPerW * heatW - temperatureC
  }
  const still = overAt(0)
  let low = 0
  let high = 0
  if (still > 0) for (low = -FIRST_W; overAt(low) > 0; low *= 4) if (low < -MOST_W) return low
  if (still <= 0) {
    // Where the curve bends upward one step of Newton's passes the root, which then is bracketed.
    for (high = -still / (point.slopeKPerW + packageKPerW) || FIRST_W; ; high *= 2) {
      const over = overAt(high)
      if (over > 0) break
      low = high
      if (over === 0 || high > MOST_W) return high
    }
  }
  const slope = point.slopeKPerW + packageKPerW
  const next = high - (point.plateC + packageKPerW * high - temperatureC) / slope
  return rootBetween(
    (heatW, out) => {
      out.value = overAt(heatW)
      out.slope = point.slopeKPerW + packageKPerW
    },
    low,
    high,
    next > low && next < high ? next : (low + high) / 2,
  )
}
