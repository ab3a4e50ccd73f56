/** Fixtures: several files in one text, with marks for places. */

import { memoryLogs } from '../../server/bench/log/source.ts'
import { createService, type Service } from '../../server/service.ts'
import { memoryFiles } from './file-systems.ts'

/**
 * Fixtures: several files in one text, with marks for places.
 *
 *     --- bench.detent
 *     part p { … }
 *     --- a.detent
 *     use "bench.detent"
 *     profile q { part $0p }
 *
 * `$0` is the cursor; `[[` and `]]` enclose stretches. Without a `---` line the whole text is `a.detent`.
 */
export interface Fixture {
  readonly files: Readonly<Record<string, string>>
  readonly cursor: { readonly uri: string; readonly offset: number } | undefined
  readonly stretches: readonly { readonly uri: string; readonly start: number; readonly end: number }[]
}

const folder = 'file:///bench/'

export function uriOf(name: string): string {
  return folder + name
}

function parseFixture(text: string): Fixture {
  const parts = text.split(/^--- (.+)\n/m)
  const named: [string, string][] = []
  if (parts[0]?.trim() !== '' || parts.length === 1) named.push(['a.detent', parts[0] ?? ''])
  for (let index = 1; index < parts.length; index += 2) named.push([parts[index] ?? '', parts[index + 1] ?? ''])
  const files: Record<string, string> = {}
  const stretches: { uri: string; start: number; end: number }[] = []
  let cursor: Fixture['cursor']
  for (const [name, marked] of named) {
    const uri = uriOf(name)
    let plain = ''
    const open: number[] = []
    for (const piece of marked.split(/(\$0|\[\[|\]\])/)) {
      if (piece === '$0') cursor = { uri, offset: plain.length }
      else if (piece === '[[') open.push(plain.length)
      else if (piece === ']]') stretches.push({ uri, start: open.pop() ?? 0, end: plain.length })
      else plain += piece
    }
    files[uri] = plain
  }
  return { files, cursor, stretches }
}

export interface LoadedFixture extends Fixture {
  readonly service: Service
  /** The text of a file. */
  text(uri: string): string
}

/** A fixture with all its files loaded. */
export async function loadFixture(text: string): Promise<LoadedFixture> {
  const fixture = parseFixture(text)
  const service = createService(memoryFiles(fixture.files), { logs: memoryLogs(fixture.files) })
  await service.workspace.load(Object.keys(fixture.files))
  for (const uri of Object.keys(fixture.files)) await service.bench.loadLogs(uri)
  return { ...fixture, service, text: uri => fixture.files[uri] ?? '' }
}

/** A fixture with a cursor in it. */
export async function loadAtCursor(
  text: string,
): Promise<LoadedFixture & { readonly cursor: NonNullable<Fixture['cursor']> }> {
  const loaded = await loadFixture(text)
  if (loaded.cursor === undefined) throw new Error('The fixture has no $0')
  return { ...loaded, cursor: loaded.cursor }
}
