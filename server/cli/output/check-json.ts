/** What `check` prints for scripts. */

import type { Report } from '../check-results.ts'

/** Findings and expectations by the output contract; keys that do not apply are absent. */
export function checkJson({ findings, expectations, unread }: Report): string {
  const used = unread.length === 0 ? {} : { unread }
  return `${JSON.stringify({ version: 1, findings, expectations, ...used }, undefined, 2)}\n`
}
