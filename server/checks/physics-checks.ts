import type { Check } from './types.ts'

/** Checks of voltage, limits, cooling and expectations. A new check is one file and one line here. */
export const physicsChecks: readonly Check[] = []
