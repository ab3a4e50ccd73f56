/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { loadBeyondPart } from './load-beyond-part.ts'
import { ratioGrid } from './ratio-grid.ts'
import { ratioRange } from './ratio-range.ts'
import { stepsBeyondPart } from './steps-beyond-part.ts'
import { stepsGap } from './steps-gap.ts'
import { stepsOverlap } from './steps-overlap.ts'
import { stepsRising } from './steps-rising.ts'

/** Checks of the ratio by active cores. A new one is one file and one line here. */
export const stepsChecks: readonly Check[] = [
  stepsGap,
  stepsOverlap,
  stepsRising,
  stepsBeyondPart,
  loadBeyondPart,
  ratioRange,
  ratioGrid,
]
