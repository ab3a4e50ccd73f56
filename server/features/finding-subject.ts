/** What a finding is about, so that it is known again in another state of its file. */
import type { Finding } from '../checks/types.ts'

/**
 * Its code, its load and the word that its line begins with: lines and figures move, these stay.
 * @param text of the file that it stands in
 * @param start where it stands there
 */
export function subjectOf({ code, load = '' }: Finding, text: string, start: number): string {
  const from = text.lastIndexOf('\n', start - 1) + 1
  return [code, load, /^\s*(\S*)/.exec(text.slice(from, from + 200))?.[1] ?? ''].join('\n')
}
