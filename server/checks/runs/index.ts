/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { knownImpossible } from './known-impossible.ts'
import { knownSaysNothing } from './known-says-nothing.ts'
import { knownWithoutCooling } from './known-without-cooling.ts'
import { predictionOff } from './prediction-off.ts'
import { runLog } from './run-log.ts'

/** Checks of runs and their logs. A new one is one file and one line here. */
export const runsChecks: readonly Check[] = [
  runLog,
  predictionOff,
  knownSaysNothing,
  knownWithoutCooling,
  knownImpossible,
]
