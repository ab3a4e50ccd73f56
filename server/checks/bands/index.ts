/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { bandAlternating } from './band-alternating.ts'
import { bandNoEffect } from './band-no-effect.ts'
import { bandUnreachable } from './band-unreachable.ts'
import { bandsMissingCores } from './bands-missing-cores.ts'
import { returnLatches } from './return-latches.ts'

/** Checks of ratio given back by temperature. A new one is one file and one line here. */
export const bandsChecks: readonly Check[] = [
  bandNoEffect,
  bandUnreachable,
  bandAlternating,
  bandsMissingCores,
  returnLatches,
]
