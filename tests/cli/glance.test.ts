import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { root } from '../harness/sources.ts'
import { benchText, detent } from './helpers.ts'

describe('glance', () => {
  it('greets the example bench in one screen', async () => {
    const { code, out, err } = await detent(root, ['glance', 'grammar/examples/bench'])
    expect({ code, err }).toEqual({ code: 0, err: '' })
    const lines = out.trimEnd().split('\n')
    expect(lines.length).toBeLessThanOrEqual(22)
    expect(Math.max(...lines.map(line => line.length))).toBeLessThanOrEqual(80)
    expect(lines[0]).toBe('Checked 6 files, 5 profiles and 10 runs in grammar/examples/bench.')
    expect(lines.slice(1, 3).join(' ')).toMatch(/^\d+ findings .* \d+ of \d+ expectations hold\./)
    // An example for others: most of what it is expected to do, it does.
    const [, holding = 0, expected = 0] = (
      /(\d+) of (\d+) expectations hold/.exec(lines.slice(1, 3).join(' ')) ?? []
    ).map(Number)
    expect(expected).toBeGreaterThanOrEqual(12)
    expect(holding / expected).toBeGreaterThan(0.8)
    // One line for each kind of finding, the most severe first.
    const known = lines.filter(line => /^ {2}\S+\.detent:\d+ /.test(line))
    expect(known).toHaveLength(3)
    expect(known[0]).toContain('heavy-work.detent:20 ')
    expect(known[1]).toMatch(/\(\d+ more\)$/)
    expect(out.match(/^profile .*held by$/gm)).toHaveLength(1)
    expect(out.match(/^(?:cold-tank-sprint|heavy-work|light-work|winter|summer) /gm)).toHaveLength(5)
  })

  it('proposes two calls that work', async () => {
    using folder = temporaryFolder({ 'bench/a.detent': benchText() })
    const { out } = await detent(folder.path, ['glance', 'bench'])
    const calls = [...out.matchAll(/^ {2}detent (.*)$/gm)].map(([, call = '']) => call.split(' '))
    expect(calls).toEqual([
      ['predict', 'daily', 'bench'],
      ['sheet', 'daily', 'bench'],
    ])
    for (const call of calls) expect((await detent(folder.path, call)).code).toBe(0)
  })

  it('names the load with the least margin', async () => {
    const text = benchText().replace('load work', 'load light { cores 1; activity 0.1 }\nload work')
    using folder = temporaryFolder({ 'a.detent': text })
    expect((await detent(folder.path, ['glance'])).out).toMatch(/^daily +work on 4 +4600 /m)
  })

  it('sends to the findings where there are errors, and ends with 1', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText().replace('room den\n', 'room attic\n') })
    const { code, out } = await detent(folder.path, ['glance'])
    expect(code).toBe(1)
    expect(out).toContain('Nothing is predicted yet.')
    expect(out).toMatch(/^ {2}detent check$/m)
  })

  it('says what it takes where there is no profile', async () => {
    using folder = temporaryFolder({ 'a.detent': 'detent 1\n' })
    const { code, out } = await detent(folder.path, ['glance'], { columns: 400 })
    expect(code).toBe(0)
    expect(out).toContain('Nothing is predicted yet: there is no profile.')
    expect(out).toContain('`known`, what you have seen it do')
  })
})
