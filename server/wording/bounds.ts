/** What a value may be, in words. */

import { boundText } from '../../grammar/describe.ts'
import type { Bounds } from '../../grammar/vocabulary/index.ts'

/** What a value may be, in words. */
export function boundsText({ min, max, above, below }: Bounds, unit: string): string {
  const shown = (value: number): string => boundText(value, unit)
  const low = min !== undefined ? `at least ${shown(min)}` : above !== undefined ? `more than ${shown(above)}` : ''
  const high = max !== undefined ? `at most ${shown(max)}` : below !== undefined ? `less than ${shown(below)}` : ''
  return [low, high].filter(text => text !== '').join(' and ')
}
