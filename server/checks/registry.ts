import { stepsGap } from './steps-gap.ts'
import { syntax } from './syntax.ts'
import type { Check } from './types.ts'

/** Every check, in the order of the reference. A new check is one file and one line here. */
export const checks: readonly Check[] = [syntax, stepsGap]

export function findCheck(code: string): Check | undefined {
  return checks.find(check => check.code === code)
}
