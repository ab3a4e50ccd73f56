/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { needsContradicted } from './needs-contradicted.ts'
import { needsFalling } from './needs-falling.ts'
import { needsShort } from './needs-short.ts'
import { needsUntested } from './needs-untested.ts'
import { voltageGrid } from './voltage-grid.ts'
import { voltageRange } from './voltage-range.ts'
import { voltageShort } from './voltage-short.ts'

/** Checks of set, die and needed voltage. A new one is one file and one line here. */
export const voltageChecks: readonly Check[] = [
  voltageRange,
  voltageShort,
  voltageGrid,
  needsShort,
  needsFalling,
  needsContradicted,
  needsUntested,
]
