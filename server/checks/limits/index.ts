/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { currentOver } from './current-over.ts'
import { dieLimitRange } from './die-limit-range.ts'
import { limitIdle } from './limit-idle.ts'
import { supplyShort } from './supply-short.ts'
import { sustainedAboveBurst } from './sustained-above-burst.ts'
import { sustainedOver } from './sustained-over.ts'

/** Checks of limits of power, current and temperature, and the supply. A new one is one file and one line here. */
export const limitsChecks: readonly Check[] = [
  dieLimitRange,
  currentOver,
  sustainedOver,
  sustainedAboveBurst,
  limitIdle,
  supplyShort,
]
