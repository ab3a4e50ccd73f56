/** Faulty examples for the tests of checks: their texts, changed and checked again. */

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { Severities } from '../../server/checks/run.ts'
import type { Finding } from '../../server/checks/types.ts'
import { foundIn } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { root } from '../harness/sources.ts'

/** The example that has the finding, with the marks taken off. */
export function demo(code: string): string {
  const text = readFileSync(join(root, 'grammar', 'examples', 'faulty', `${code}.detent`), 'utf8')
  return text.replace(/ *# finds: .*$/gm, '')
}

/** A text with replacements, each of a piece that stands in it exactly once. */
export function edited(text: string, ...changes: readonly (readonly [from: string, to: string])[]): string {
  let result = text
  for (const [from, to] of changes) {
    const pieces = result.split(from)
    if (pieces.length !== 2) throw new Error(`“${from}” stands ${pieces.length - 1} times in the text`)
    result = pieces.join(to)
  }
  return result
}

/** A finding and the text under it. */
export interface FoundHere {
  readonly under: string
  readonly finding: Finding
}

/** The findings of one code, in order. */
export async function findingsOf(code: string, text: string, severities: Severities = {}): Promise<FoundHere[]> {
  const loaded = await loadFixture(text)
  return foundIn(loaded, severities)
    .filter(({ finding }) => finding.code === code)
    .map(({ file, start, end, finding }) => {
      const own = Object.entries(loaded.files).find(([uri]) => uri.endsWith(`/${file}`))?.[1] ?? ''
      return { under: own.slice(start, end).replace(/\s+/g, ' '), finding }
    })
}

/** What the findings of one code stand under. */
export async function placesOf(code: string, text: string, severities?: Severities): Promise<string[]> {
  return (await findingsOf(code, text, severities)).map(({ under }) => under)
}

/** The message of the one finding of a code. */
export async function messageOf(code: string, text: string, severities?: Severities): Promise<string> {
  const found = await findingsOf(code, text, severities)
  if (found.length !== 1) throw new Error(`${found.length} findings of ${code}`)
  return found[0]?.finding.message ?? ''
}
