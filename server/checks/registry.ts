import { languageChecks } from './language-checks.ts'
import { physicsChecks } from './physics-checks.ts'
import type { Check } from './types.ts'

/** Every check, in the order of the reference. */
export const checks: readonly Check[] = [...languageChecks, ...physicsChecks]

export function findCheck(code: string): Check | undefined {
  return checks.find(check => check.code === code)
}
