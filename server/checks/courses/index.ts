/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { courseFault } from './course-fault.ts'
import { courseLinesCheck } from './course-lines.ts'
import { courseWaits } from './course-waits.ts'

/** Checks of courses. A new one is one file and one line here. */
export const courseChecks: readonly Check[] = [courseLinesCheck, courseWaits, courseFault]
