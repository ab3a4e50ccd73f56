/** What `predict` prints for scripts. */

import type { PredictedProfile } from './predicted.ts'

/** All figures as doubles, by the output contract; every key is always there. */
export function predictJson(profiles: readonly PredictedProfile[]): string {
  const predictions = profiles.flatMap(({ file, rows }) => rows.map(row => ({ file, ...row })))
  return `${JSON.stringify({ version: 1, predictions }, undefined, 2)}\n`
}
