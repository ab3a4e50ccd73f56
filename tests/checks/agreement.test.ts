import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { withoutDisagreement } from '../../server/checks/agreement.ts'
import type { Finding } from '../../server/checks/types.ts'
import { check, fixed, foundIn } from '../harness/check.ts'
import { loadFixture } from '../harness/fixture.ts'
import { root } from '../harness/sources.ts'
import { demo, edited, findingsOf } from './demo.ts'

const chunkOf = (text: string) => ({ text, tokens: [], statements: [], problems: [] })

function finding(chunk: ReturnType<typeof chunkOf>, code: string, start: number, end: number, text: string) {
  const at = { chunk, start, end }
  const one: Finding = {
    code,
    at,
    page: '',
    severity: 'error',
    message: '',
    fixes: [{ title: text, edits: [{ ...at, text }] }],
  }
  return one
}

const left = (list: readonly Finding[]): string[] =>
  list.flatMap(({ fixes }) => (fixes ?? []).map(({ title }) => title))

describe('fixes of one place', () => {
  const chunk = chunkOf('core needs + 10 mV  50x')

  it('are dropped where one raises and the other lowers', () => {
    const both = [finding(chunk, 'a', 13, 18, '40 mV'), finding(chunk, 'b', 13, 18, '5 mV')]
    expect(left(withoutDisagreement(both))).toEqual([])
  })

  it('are kept where both move it the same way, or write the same', () => {
    const both = [finding(chunk, 'a', 20, 23, '48x'), finding(chunk, 'b', 20, 23, '46x')]
    expect(left(withoutDisagreement(both))).toEqual(['48x', '46x'])
    const same = [finding(chunk, 'a', 13, 18, 'x'), finding(chunk, 'b', 13, 18, 'x')]
    expect(left(withoutDisagreement(same))).toEqual(['x', 'x'])
  })

  it('are kept where they stand apart, and as choices of one finding', () => {
    const apart = [finding(chunk, 'a', 13, 18, '40 mV'), finding(chunk, 'b', 20, 23, '46x')]
    expect(left(withoutDisagreement(apart))).toHaveLength(2)
    const one = finding(chunk, 'a', 13, 18, '40 mV')
    const choices = { ...one, fixes: [...(one.fixes ?? []), ...(finding(chunk, 'a', 13, 18, '5 mV').fixes ?? [])] }
    expect(left(withoutDisagreement([choices]))).toEqual(['40 mV', '5 mV'])
  })

  it('never disagree in the examples', async () => {
    const folder = join(root, 'grammar', 'examples', 'faulty')
    let fixes = 0
    for (const name of readdirSync(folder)) {
      const loaded = await loadFixture(`--- ${name}\n${readFileSync(join(folder, name), 'utf8')}`)
      for (const { finding: one } of foundIn(loaded)) fixes += one.fixes?.length ?? 0
    }
    expect(fixes).toBeGreaterThan(30)
  })
})

describe('a voltage', () => {
  const voltage = (line: string): string =>
    edited(demo('voltage-range'), ['    core needs + 10 mV\n    set 50x 1.480 V\n', `    ${line}\n`])

  // 50x needs 1.010 V + 10/13 · 0.280 V = 1.2254 V: on the board's grid 1.230 V, where the grid rounds to the nearest 5 mV.
  it.each([
    ['core fixed 1.550 V', 'core fixed 1.230 V'],
    ['core fixed 0.550 V', 'core fixed 1.230 V'],
    ['core needs + 300 mV', 'core needs + 5 mV'],
  ])('outside the range comes to the least that serves: %s', async (line, meant) => {
    expect(await fixed('voltage-range', voltage(line))).toContain(`${meant}\n`)
  })

  it('of one row as well', async () => {
    expect(await fixed('voltage-range', demo('voltage-range'))).toContain('set 50x 1.230 V')
  })

  it('too low and outside has one advice, from both findings', async () => {
    const text = voltage('core fixed 0.550 V')
    const [range] = await findingsOf('voltage-range', text)
    const [short] = await findingsOf('voltage-short', text)
    expect(range?.finding.message).toContain('`core fixed 1.230 V` is the least that serves')
    expect(short?.finding.message).toContain('`core fixed 1.230 V`')
    expect(short?.finding.message).not.toContain("within the maker's limit")
  })

  it('with a fix has no finding left', async () => {
    await check(await fixed('voltage-range', voltage('core fixed 1.550 V')))
  })
})
