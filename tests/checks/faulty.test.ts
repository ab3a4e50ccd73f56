import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { format } from '../../grammar/printer.ts'
import { checks } from '../../server/checks/registry.ts'
import type { Severities } from '../../server/checks/run.ts'
import { foundIn, positionAt } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { root } from '../harness/sources.ts'

const folder = join(root, 'grammar', 'examples', 'faulty')
/** Beside the example of a check stands one of a part with groups of cores, where they can have it in a way of their own. */
const ofGroup = /-of-group\.detent$/
const names = readdirSync(folder)
  .filter(name => name.endsWith('.detent'))
  .sort()

/** `line code` for each code of each `# finds:` comment, sorted. */
function marksOf(text: string): string[] {
  return text
    .split('\n')
    .flatMap((line, index) => {
      const codes = /# finds: ([a-z0-9, -]+)$/.exec(line)?.[1]?.split(/, */) ?? []
      return codes.map(code => `${index + 1} ${code}`)
    })
    .sort()
}

describe('the faulty examples', () => {
  it('are there for every check', () => {
    expect(checks.length).toBeGreaterThan(40)
    expect(checks.map(({ code }) => `${code}.detent`).sort()).toEqual(names.filter(name => !ofGroup.test(name)))
  })

  it('are there for what only a group of cores can have, and linked from the page of their check', () => {
    const some = names.filter(name => ofGroup.test(name))
    expect(some.length).toBeGreaterThan(6)
    const linked = checks.filter(({ page }) => page.hasGroupExample).map(({ code }) => `${code}-of-group.detent`)
    expect(linked.sort()).toEqual(some)
  })

  it.each(names)('%s has its findings and no other', async name => {
    const text = readFileSync(join(folder, name), 'utf8')
    const code = name.replace(/(-of-group)?\.detent$/, '')
    const marks = marksOf(text)
    expect(marks.some(mark => mark.endsWith(` ${code}`))).toBe(true)
    const check = checks.find(one => one.code === code)
    // A check that is off by default is switched on in its own example alone.
    const severities: Severities = check?.severity === 'off' ? { [code]: 'warning' } : {}
    const loaded = await loadFixture(`--- ${name}\n${text}`)
    const found = foundIn(loaded, severities)
    expect(found.map(({ finding, start }) => `${positionAt(text, start).line} ${finding.code}`).sort()).toEqual(marks)
    const isOfGroup = ({ finding }: (typeof found)[number]): boolean =>
      finding.group !== undefined || / of group |\bgroup `|\brail /.test(finding.message)
    if (ofGroup.test(name)) expect(found.map(isOfGroup)).not.toContain(false)
    for (const { finding } of found) {
      expect(finding.message).toMatch(/^[^\s].{40,}[.?]$/s)
      // Lists cut it: what is wrong is said before where that is.
      const [verdict = ''] = finding.message.split(/[:;]|[.,] | \(/)
      expect(verdict.length, verdict).toBeLessThanOrEqual(60)
      expect(verdict).not.toMatch(/active cores? at | °C air/)
    }
  })

  it.each(names)('%s is formatted', name => {
    const text = readFileSync(join(folder, name), 'utf8')
    expect(format(parseFile(text))).toBe(text)
  })
})
