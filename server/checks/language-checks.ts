import { stepsGap } from './steps-gap.ts'
import { syntax } from './syntax.ts'
import type { Check } from './types.ts'

/** Checks of the language, the steps and the bands. A new check is one file and one line here. */
export const languageChecks: readonly Check[] = [syntax, stepsGap]
