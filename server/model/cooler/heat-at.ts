/** A curve read backward by its forward values, for kinds that have no shorter way. */

import { rootBetween } from '../root.ts'
import { emptyPoint, type PlateCurve } from './curve.ts'

/** Heat beyond this is as good as any. */
const MOST_W = 1e9
const FIRST_W = 64

const point = emptyPoint()

/** Largest heat with plate + `packageKPerW` · heat ≤ `temperatureC`; the curve may run level or jump. */
export function heatAtOn(curve: PlateCurve, packageKPerW: number, temperatureC: number): number {
  if (curve.linear) return (temperatureC - curve.lineC) / (curve.lineKPerW + packageKPerW)
  const overAt = (heatW: number): number => {
    curve.evaluate(heatW, point)
    return point.plateC + packageKPerW * heatW - temperatureC
  }
  let low = 0
  let high = FIRST_W
  if (overAt(0) > 0) {
    high = 0
    for (low = -FIRST_W; overAt(low) > 0; low *= 4) if (low < -MOST_W) return low
  } else {
    for (; overAt(high) <= 0; high *= 4) {
      low = high
      if (high > MOST_W) return high
    }
  }
  return rootBetween(
    (heatW, out) => {
      out.value = overAt(heatW)
      out.slope = point.slopeKPerW + packageKPerW
    },
    low,
    high,
    (low + high) / 2,
  )
}
