/** The checks of this group, in the order of the reference. */

import type { Check } from '../types.ts'
import { expectExact } from './expect-exact.ts'
import { expectFailed } from './expect-failed.ts'
import { expectUndecided } from './expect-undecided.ts'

/** Checks of expectations. A new one is one file and one line here. */
export const expectChecks: readonly Check[] = [expectFailed, expectUndecided, expectExact]
