/** Whether a figure meets what is asked of it. */

import type { Quantity } from '../../grammar/values.ts'

/** How far a figure may lie on the wrong side of what is asked, in base units: 1e-6 relative, 1e-6 K for temperatures. */
export function toleranceOf({ dimension, value }: Quantity): number {
  const thermal = dimension === 'temperature' || dimension === 'temperature-difference'
  return thermal ? 1e-6 : 1e-6 * Math.abs(value)
}

/** Whether a figure in base units meets what is asked, within the tolerance. */
export function meets(value: number, compare: '>=' | '<=', target: Quantity): boolean {
  const tolerance = toleranceOf(target)
  return compare === '>=' ? value >= target.value - tolerance : value <= target.value + tolerance
}
