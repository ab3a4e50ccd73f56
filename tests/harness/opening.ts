/** The line with which a file says what it is for. */
import type { Source } from './sources.ts'

/**
 * The first line of the comment that a file opens with; of a check its title, of a test the first thing that it describes.
 * Undefined where there is none.
 */
export function opening({ path, text }: Source): string | undefined {
  const code = text.replace(/^#!.*\n/, '')
  const comment = /^(?:\/\*\*?(?!\*)\s*(?:\*\s+)?|\/\/\s*)(\S.*)/.exec(code)?.[1]
  const line = comment?.replace(/\s*\*\/$/, '')
  if (line !== undefined && line !== '') return line
  if (/\.(?:test|spec|look)\.ts$/.test(path))
    return /\b(?:describe|test|it|suite)(?:\.\w+\(.*?\))?\(\s*['"`](.+?)['"`],/s.exec(code)?.[1]
  if (/^server\/checks\/\w+\//.test(path) && /: Check = \{/.test(code))
    return /^ {2}title:\s*['"`](.+?)['"`],$/m.exec(code)?.[1]
  return undefined
}
