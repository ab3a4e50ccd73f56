import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { evidenceFaults, nextFaults } from './contract.ts'
import { benchText, detent } from './helpers.ts'

/** What `detent evidence` shows and writes; that its figures are right is checked beside the posterior. */

const run = (name: string, voltage: string, end: string): string =>
  `\nrun ${name} of daily under work {\n  measured { voltage ${voltage} }\n  ${end}\n}\n`
/** At 46x `needs` asks for 1.120 V. */
const bench = benchText('  voltage { core needs + 10 mV }\n')
const stopped = bench + run('first', '1.125 V', 'stopped after 12 min "hang"') + run('second', '1.160 V', 'held 1 h')

describe('detent evidence', () => {
  it('shows what each ratio takes, what was tried and what does not count, in 80 columns', async () => {
    const more =
      run('third', '1.125 V', 'stopped after 2 min "pump stuck"') + run('odd', '1.240 V', 'stopped after 9 min "hang"')
    using folder = temporaryFolder({ 'a.detent': stopped + more })
    const { out, code } = await detent(folder.path, ['evidence'])
    expect(code).toBe(1)
    expect(out).toMatch(/^sample {2}a\.detent:3\n/)
    expect(out).toContain(
      'Enough means that it holds 1 h with 95 % probability. 3 trials: 1 held, 2\n  stopped. 1 run not counted.',
    )
    expect(out).toMatch(/^ +46x +1 h at 1\.160 V +2 \(1 odd\) +1\.14\d V ± 1\d mV +1\.120 V +\d % {2}contradicted$/m)
    expect(out).toMatch(/^ +46x +1\.125 V +stopped after 12 min \(“hang”\) +first$/m)
    expect(out).toMatch(/third does not count: its words name another cause/)
    expect(Math.max(...out.split('\n').map(line => line.length))).toBeLessThanOrEqual(80)
    const markdown = (await detent(folder.path, ['evidence', '--output', 'markdown'])).out
    expect(markdown).toMatch(/^# Voltages of part sample\n/)
    expect(markdown).toMatch(/\| 46x +\| 1\.120 V \| \d %, contradicted \| 1\.14/)
  })

  it('gives JSON by the contract', async () => {
    using folder = temporaryFolder({ 'a.detent': stopped, 'b/b.detent': bench })
    const { out } = await detent(folder.path, ['evidence', 'sample', 'a.detent', '--output', 'json'])
    const value = JSON.parse(out)
    expect(evidenceFaults(value)).toEqual([])
    expect(value).toMatchObject({ version: 1, part: 'sample' })
    expect(value.rows.map((row: { ratio: number; word: string }) => [row.ratio, row.word])).toEqual([
      [40, expect.any(String)],
      [46, 'contradicted'],
      [50, expect.any(String)],
    ])
    const untried = await detent(folder.path, ['evidence', 'b', '--output', 'json'])
    expect(evidenceFaults(JSON.parse(untried.out))).toEqual([])
    expect(JSON.parse(untried.out)).toMatchObject({ sharpness_v: null, rows: [] })
    expect(untried.code).toBe(1)
  })

  it('counts a known row as held for ten minutes, and asks for the part’s own proof', async () => {
    const seen = bench.replace('  switching', '  known { 5.0 GHz 1.18 V 120 W }\n  proof 99 % for 8 h\n  switching')
    using folder = temporaryFolder({ 'a.detent': seen })
    const { out, code } = await detent(folder.path, ['evidence'])
    expect(code).toBe(0)
    expect(out.replace(/\s+/g, ' ')).toContain(
      'Enough means that it holds 8 h with 99 % probability. 1 trial: 1 held, 1 of them from',
    )
    expect(out).toMatch(/^ +50x +10 min at 1\.180 V/m)
  })

  it('writes the rows that trials tell of, with their ±, and nothing else', async () => {
    const text = bench.replace('{ 40x 1.000 V; 50x 1.200 V }', '{ 30x 0.900 V; 46x 1.120 V; 50x 1.200 V }')
    using folder = temporaryFolder({ 'a.detent': text + run('first', '1.125 V', 'stopped after 12 min "hang"') })
    const { err } = await detent(folder.path, ['evidence', '--write'])
    expect(err).toMatch(/^a\.detent: 2 rows of needs written\n$/)
    const written = readFileSync(join(folder.path, 'a.detent'), 'utf8')
    expect(written).toMatch(/needs \{ 30x 0\.900 V; 46x 1\.1[45]\d V ± 0\.01\d V; 50x 1\.2[12]\d V ± 0\.01\d V \}/)
    const again = await detent(folder.path, ['evidence', 'sample'])
    expect(again.out).not.toContain('contradicted')
  })

  it('writes nothing where the trials ask for more than is allowed', async () => {
    const text = stopped
      .replace('0.65 V to 1.50 V', '0.65 V to 1.13 V')
      .replace('{ 40x 1.000 V; 50x 1.200 V }', '{ 46x 1.120 V }')
    using folder = temporaryFolder({ 'a.detent': text })
    const { err } = await detent(folder.path, ['evidence', '--write'])
    expect(err).toBe('sample: nothing to change.\n')
    expect(readFileSync(join(folder.path, 'a.detent'), 'utf8')).toBe(text)
  })

  it('names a part that is not there, and asks for one where JSON could be of several', async () => {
    using folder = temporaryFolder({ 'a.detent': stopped, 'b.detent': bench })
    const unknown = await detent(folder.path, ['evidence', 'sampel'])
    expect(unknown).toMatchObject({ code: 2, err: 'detent: There is no part sampel here; did you mean sample?\n' })
    using both = temporaryFolder({ 'a.detent': stopped, 'b.detent': stopped.replaceAll('sample', 'other') })
    const several = await detent(both.path, ['evidence', '--output', 'json'])
    expect(several).toMatchObject({ code: 2, err: 'detent: JSON is of one part; there are sample, other: name one.\n' })
    expect((await detent(both.path, ['evidence'])).out).toMatch(/^other {2}b\.detent:3$/m)
  })
})

describe('detent next', () => {
  const wide = bench.replace(
    'load work { cores 4; activity 0.8 }',
    'load work { cores 4; activity 0.8 }\nload light { cores 1; activity 0.3 }',
  )

  it('proposes trials with what is known after either end, each as a run to fill in', async () => {
    using folder = temporaryFolder({ 'a.detent': wide })
    const { out, code } = await detent(folder.path, ['next', 'daily'])
    expect(code).toBe(0)
    expect(out).toMatch(/^daily {2}a\.detent:\d+\n {2}Known now: 46x ± 2\d mV; 2\d mV in total\.$/m)
    expect(out).toMatch(/^1 {2}4[67]x with 1\.\d+ V set under (work|light), \d0 min$/m)
    expect(out).toMatch(/^ {3}holds \(\d+ %\): 4[67]x then takes 1\.\d\d\d V ± \d+ mV; all ratios ± \d+ mV in total$/m)
    // The two ends to choose from can both be: what stops does so before it would have held.
    const ends = [...out.matchAll(/^ {5}# held (\d+) min\n {5}# stopped after (\d+) min "/gm)]
    expect(ends.length).toBeGreaterThan(0)
    for (const [, held, stopped] of ends) expect(Number(stopped)).toBeLessThan(Number(held))
    expect(
      Math.max(
        ...out
          .split('\n')
          .filter(line => !line.includes('#'))
          .map(line => line.length),
      ),
    ).toBeLessThanOrEqual(80)
  })

  it('gives JSON by the contract, keeps to a risk, and to what is allowed', async () => {
    using folder = temporaryFolder({ 'a.detent': wide.replace('0.65 V to 1.50 V', '0.65 V to 1.12 V') })
    const call = ['next', 'daily', '--risk', '20 %', '--output', 'json']
    const value = JSON.parse((await detent(folder.path, call)).out)
    expect(nextFaults(value)).toEqual([])
    expect(value.next.length).toBeGreaterThan(0)
    for (const one of value.next) {
      expect(one.stop_probability).toBeLessThanOrEqual(0.2)
      expect(one.set_v).toBeLessThanOrEqual(1.12)
      expect(one.gain_per_min).toBeGreaterThan(0)
    }
    const evidence = JSON.parse((await detent(folder.path, ['evidence', '--output', 'json'])).out)
    expect(evidenceFaults(evidence)).toEqual([])
    expect(evidence.next.length).toBeGreaterThan(0)
  })

  it('gives a run that counts as nothing until it is filled in, and is then a trial without another finding', async () => {
    using folder = temporaryFolder({ 'a.detent': wide })
    const { next } = JSON.parse((await detent(folder.path, ['next', 'daily', '--output', 'json'])).out)
    const empty = `${wide}\n${next[0].run}`
    const filled = empty.replace(/# (measured \{[^}]*\}).*\n/, '$1\n').replace('# held', 'held')
    using two = temporaryFolder({ 'a.detent': empty, 'b/b.detent': filled })
    expect((await detent(two.path, ['evidence', 'a.detent'])).out).toContain('No trial of part sample yet')
    expect((await detent(two.path, ['evidence', 'b'])).out).toMatch(/1 trial: 1 held, 0\s+stopped/)
    const found = async (path: string) => {
      const { out } = await detent(two.path, ['check', path, '--output', 'json'])
      return (JSON.parse(out) as { findings: { code: string }[] }).findings.map(({ code }) => code)
    }
    expect(await found('a.detent')).toEqual([])
    expect((await found('b')).filter(code => code !== 'needs-untested')).toEqual([])
  })

  it('refuses what is no risk, and says why nothing can be proposed', async () => {
    using folder = temporaryFolder({ 'a.detent': wide.replace('  room den\n', '') })
    expect((await detent(folder.path, ['next', 'daily', '--risk', 'none'])).code).toBe(2)
    const { err, code } = await detent(folder.path, ['next', 'daily'])
    expect(code).toBe(2)
    expect(err).toMatch(/^detent: Nothing can be proposed for daily, because .*room/)
  })
})
