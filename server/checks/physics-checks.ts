import { condensation } from './condensation.ts'
import { coolerOverload } from './cooler-overload.ts'
import { currentOver } from './current-over.ts'
import { dieLimitRange } from './die-limit-range.ts'
import { driveExcess } from './drive-excess.ts'
import { expectFailed } from './expect-failed.ts'
import { expectUndecided } from './expect-undecided.ts'
import { fanBelowData } from './fan-below-data.ts'
import { fanFalling } from './fan-falling.ts'
import { frost } from './frost.ts'
import { limitIdle } from './limit-idle.ts'
import { moduleInconsistent } from './module-inconsistent.ts'
import { needsFalling } from './needs-falling.ts'
import { needsShort } from './needs-short.ts'
import { offCondensation } from './off-condensation.ts'
import { overLimit } from './over-limit.ts'
import { runawayNear } from './runaway-near.ts'
import { supplyShort } from './supply-short.ts'
import { sustainedAboveBurst } from './sustained-above-burst.ts'
import { sustainedOver } from './sustained-over.ts'
import { thermalRunaway } from './thermal-runaway.ts'
import type { Check } from './types.ts'
import { voltageGrid } from './voltage-grid.ts'
import { voltageRange } from './voltage-range.ts'
import { voltageShort } from './voltage-short.ts'

/** Checks of voltage, limits, cooling and expectations. A new check is one file and one line here. */
export const physicsChecks: readonly Check[] = [
  voltageRange,
  voltageShort,
  voltageGrid,
  needsShort,
  needsFalling,
  dieLimitRange,
  currentOver,
  sustainedOver,
  sustainedAboveBurst,
  limitIdle,
  supplyShort,
  coolerOverload,
  thermalRunaway,
  runawayNear,
  overLimit,
  driveExcess,
  condensation,
  frost,
  offCondensation,
  fanFalling,
  fanBelowData,
  moduleInconsistent,
  expectFailed,
  expectUndecided,
]
