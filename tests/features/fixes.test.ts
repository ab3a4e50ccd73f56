import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { checks } from '../../server/checks/registry.ts'
import type { Severities } from '../../server/checks/run.ts'
import { applyEdits, formattedText } from '../../server/service.ts'
import { type LoadedFixture, loadFixture, uriOf } from '../harness/fixture.ts'
import { root } from '../harness/sources.ts'

const folder = join(root, 'grammar', 'examples', 'faulty')
const names = readdirSync(folder)
  .filter(name => name.endsWith('.detent'))
  .sort()

/** Errors that a fix may bring, with the reason. */
const mayBring: Readonly<Record<string, readonly string[]>> = {
  // What the profile had from the one it no longer starts from must be written by a person.
  'based-on-cycle: Remove `based-on dusk`': ['missing-key'],
}

/** Every fix of a file's findings, with the texts of all files after it. */
function fixesOf(loaded: LoadedFixture, uri: string, severities: Severities) {
  const { features } = loaded.service
  return features.quickFixes(uri, 0, loaded.text(uri).length, severities).map(fix => {
    const after = { ...loaded.files }
    for (const { uri: file, edits } of features.fixEdits(uri, fix) ?? []) {
      after[file] = applyEdits(after[file] ?? '', edits)
    }
    return { fix, after }
  })
}

const counted = (codes: readonly string[]): ReadonlyMap<string, number> => {
  const found = new Map<string, number>()
  for (const code of codes) found.set(code, (found.get(code) ?? 0) + 1)
  return found
}

describe('every fix of the faulty examples', () => {
  let tried = 0
  // Without a fix to try, the tests below would hold of nothing.
  afterAll(() => expect(tried).toBeGreaterThan(names.length / 2))

  it.each(names)('%s: leaves the text formatted, the finding gone and no new error', async name => {
    const text = readFileSync(join(folder, name), 'utf8')
    const code = name.replace('.detent', '')
    const check = checks.find(one => one.code === code)
    const severities: Severities = check?.severity === 'off' ? { [code]: 'warning' } : {}
    const loaded = await loadFixture(`--- ${name}\n${text}`)
    const uri = uriOf(name)
    const codesIn = (one: LoadedFixture, errorsOnly: 'errors' | 'all'): ReadonlyMap<string, number> =>
      counted(
        one.service
          .findings(uri, severities)
          .filter(({ finding }) => errorsOnly === 'all' || finding.severity === 'error')
          .map(({ finding }) => finding.code),
      )
    const before = { all: codesIn(loaded, 'all'), errors: codesIn(loaded, 'errors') }
    for (const { fix, after } of fixesOf(loaded, uri, severities)) {
      tried++
      const title = `${fix.finding.finding.code}: ${fix.title}`
      const result = after[uri] ?? ''
      expect.soft(result, title).not.toBe(text)
      expect.soft(result, `${title}: is formatted`).toBe(formattedText(result))
      const again = await loadFixture(
        Object.entries(after)
          .map(([file, content]) => `--- ${file.slice(file.lastIndexOf('/') + 1)}\n${content}`)
          .join('\n'),
      )
      const own = fix.finding.finding.code
      const left = { all: codesIn(again, 'all'), errors: codesIn(again, 'errors') }
      expect.soft(left.all.get(own) ?? 0, `${title}: is gone`).toBeLessThan(before.all.get(own) ?? 0)
      for (const [other, count] of left.errors) {
        if (mayBring[title]?.includes(other)) continue
        expect.soft(count, `${title}: brings ${other}`).toBeLessThanOrEqual(before.errors.get(other) ?? 0)
      }
    }
  })
})

describe('a fix', () => {
  async function mended(text: string, title?: string): Promise<string> {
    const loaded = await loadFixture(text)
    const uri = uriOf('a.detent')
    const found = fixesOf(loaded, uri, {}).find(({ fix }) => title === undefined || fix.title === title)
    if (found === undefined) throw new Error('no fix')
    return found.after[uri] ?? ''
  }

  it('formats the line it touches and leaves the others as they are', async () => {
    const text = 'detent 1\nroom loft {\n   humidity   50 %\n  air 22                        # so\n\tnote "a"\n}\n'
    expect(await mended(text)).toBe(
      'detent 1\nroom loft {\n   humidity   50 %\n  air 22 °C                             # so\n\tnote "a"\n}\n',
    )
  })

  it('leaves a line that still does not read as it was but for itself', async () => {
    const text = 'detent 1\nroom loft {\n  air   22,5   °C ?\n  humidity 50 %\n}\n'
    expect(await mended(text, 'Write `22.5`')).toContain('\n  air   22.5   °C ?\n')
  })

  it('keeps line ends as another system writes them', async () => {
    const text = 'detent 1\r\nroom loft {\r\n  air 22          # so\r\n  humidity 50 %\r\n}\r\n'
    expect(await mended(text)).toBe(
      'detent 1\r\nroom loft {\r\n  air 22 °C                             # so\r\n  humidity 50 %\r\n}\r\n',
    )
  })

  it('touches no line below one that it takes out', async () => {
    const text = 'detent 1\nroom loft { air 22 °C; humidity 50 % }\nallow steps-gap "not mine"\n  note   "b"\n'
    expect(await mended(text)).toBe('detent 1\nroom loft { air 22 °C; humidity 50 % }\n  note   "b"\n')
  })
})
