/** Work that does not go on for longer than it may. */

import type { InSlices } from './types.ts'

/** Work that is left where the time is up. */
export function* until<T>(endMs: number, work: InSlices<T>): InSlices<T | 'late'> {
  for (let step = work.next(); ; step = work.next()) {
    if (step.done === true) return step.value
    if (performance.now() >= endMs) return 'late'
    yield
  }
}
