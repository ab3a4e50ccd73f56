/**
 * All checks, by their codes.
 *
 * Deliberately absent: checks that a workspace brings itself, since nothing in a workspace is executed, and a word that
 * silences a check in a file without a reason (`allow` wants one).
 */

import { bandsChecks } from './bands/index.ts'
import { coolingChecks } from './cooling/index.ts'
import { courseChecks } from './courses/index.ts'
import { expectChecks } from './expect/index.ts'
import { languageChecks } from './language/index.ts'
import { limitsChecks } from './limits/index.ts'
import { runsChecks } from './runs/index.ts'
import { stepsChecks } from './steps/index.ts'
import type { Check } from './types.ts'
import { voltageChecks } from './voltage/index.ts'

/** Every check, in the order of the reference. */
export const checks: readonly Check[] = [
  ...languageChecks,
  ...stepsChecks,
  ...bandsChecks,
  ...voltageChecks,
  ...limitsChecks,
  ...coolingChecks,
  ...expectChecks,
  ...courseChecks,
  ...runsChecks,
]

export function findCheck(code: string): Check | undefined {
  return checks.find(check => check.code === code)
}
