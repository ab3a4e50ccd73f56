/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { condensation } from './condensation.ts'
import { coolerOverload } from './cooler-overload.ts'
import { driveExcess } from './drive-excess.ts'
import { driveShort } from './drive-short.ts'
import { fanBelowData } from './fan-below-data.ts'
import { fanFalling } from './fan-falling.ts'
import { frost } from './frost.ts'
import { moduleInconsistent } from './module-inconsistent.ts'
import { offCondensation } from './off-condensation.ts'
import { overLimit } from './over-limit.ts'
import { pulseLoss } from './pulse-loss.ts'
import { runawayNear } from './runaway-near.ts'
import { thermalRunaway } from './thermal-runaway.ts'

/** Checks of the cooler, the plate, runaway and condensation. A new one is one file and one line here. */
export const coolingChecks: readonly Check[] = [
  coolerOverload,
  thermalRunaway,
  runawayNear,
  overLimit,
  driveExcess,
  driveShort,
  pulseLoss,
  condensation,
  frost,
  offCondensation,
  fanFalling,
  fanBelowData,
  moduleInconsistent,
]
