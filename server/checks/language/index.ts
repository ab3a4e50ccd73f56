/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { allowUnused } from './allow-unused.ts'
import { basedOnCycle } from './based-on-cycle.ts'
import { duplicateKey } from './duplicate-key.ts'
import { duplicateName } from './duplicate-name.ts'
import { keyUnusedHere } from './key-unused-here.ts'
import { magnitude } from './magnitude.ts'
import { missingKey } from './missing-key.ts'
import { radiatorRows } from './radiator-rows.ts'
import { rangeReversed } from './range-reversed.ts'
import { syntax } from './syntax.ts'
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
import { wiringCount } from './wiring-count.ts'

/** Checks of the language: lines, names, keys, units, files. A new one is one file and one line here. */
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
  wiringCount,
  unitMissing,
  unitMismatch,
  valueRange,
  magnitude,
  rangeReversed,
  useMissing,
  useCycle,
  basedOnCycle,
  versionUnknown,
  versionNotFirst,
  allowUnused,
]
