import { allowUnused } from './allow-unused.ts'
import { bandAlternating } from './band-alternating.ts'
import { bandNoEffect } from './band-no-effect.ts'
import { bandUnreachable } from './band-unreachable.ts'
import { bandsMissingCores } from './bands-missing-cores.ts'
import { basedOnCycle } from './based-on-cycle.ts'
import { duplicateKey } from './duplicate-key.ts'
import { duplicateName } from './duplicate-name.ts'
import { keyUnusedHere } from './key-unused-here.ts'
import { loadBeyondPart } from './load-beyond-part.ts'
import { missingKey } from './missing-key.ts'
import { radiatorRows } from './radiator-rows.ts'
import { rangeReversed } from './range-reversed.ts'
import { ratioGrid } from './ratio-grid.ts'
import { ratioRange } from './ratio-range.ts'
import { returnLatches } from './return-latches.ts'
import { stepsBeyondPart } from './steps-beyond-part.ts'
import { stepsGap } from './steps-gap.ts'
import { stepsOverlap } from './steps-overlap.ts'
import { stepsRising } from './steps-rising.ts'
import { syntax } from './syntax.ts'
import type { Check } from './types.ts'
import { unitMismatch } from './unit-mismatch.ts'
import { unitMissing } from './unit-missing.ts'
import { unknownName } from './unknown-name.ts'
import { unknownWord } from './unknown-word.ts'
import { unusedName } from './unused-name.ts'
import { useCycle } from './use-cycle.ts'
import { useMissing } from './use-missing.ts'
import { valueRange } from './value-range.ts'
import { versionNotFirst } from './version-not-first.ts'
import { versionUnknown } from './version-unknown.ts'

/** Checks of the language, the steps and the bands. A new check is one file and one line here. */
export const languageChecks: readonly Check[] = [
  syntax,
  unknownWord,
  unknownName,
  duplicateName,
  duplicateKey,
  unusedName,
  missingKey,
  keyUnusedHere,
  radiatorRows,
  unitMissing,
  unitMismatch,
  valueRange,
  rangeReversed,
  useMissing,
  useCycle,
  basedOnCycle,
  versionUnknown,
  versionNotFirst,
  allowUnused,
  stepsGap,
  stepsOverlap,
  stepsRising,
  stepsBeyondPart,
  loadBeyondPart,
  ratioRange,
  ratioGrid,
  bandNoEffect,
  bandUnreachable,
  bandAlternating,
  bandsMissingCores,
  returnLatches,
]
