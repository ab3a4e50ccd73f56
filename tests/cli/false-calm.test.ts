import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

/** What a person reads where a profile would crash: the same everywhere. */

const profile = (voltage: string): string =>
  benchText(`  voltage { core ${voltage} }\n  expect work holds >= 4.4 GHz\n  expect work die <= 95 °C\n`)

interface Judged {
  readonly expectations: readonly { readonly text: string; readonly holds: boolean | null }[]
}

const verdicts = async (folder: string): Promise<(boolean | null)[]> => {
  const { out } = await detent(folder, ['check', '--output', 'json'])
  return (JSON.parse(out) as Judged).expectations.map(({ holds }) => holds)
}

describe('a profile with too little voltage', () => {
  it('has no clock that holds, in any output', async () => {
    using folder = temporaryFolder({ 'a.detent': profile('needs - 30 mV') })
    expect((await verdicts(folder.path)).sort()).toEqual([null, true])
    const text = await detent(folder.path, ['check'])
    expect(text.out).toContain('1 of 2 expectations hold, 1 undecided')
    const junit = await detent(folder.path, ['check', '--output', 'junit'])
    expect(junit.out).toMatch(/<skipped message="at 4\dx the die gets [\d.]+ V, [\d.]+ mV less than it needs"\/>/)
    expect(junit.out).toContain('skipped="1"')
    const report = await detent(folder.path, ['report', '--output', 'markdown'])
    expect(report.out).toMatch(/undecided: at 4\dx the die gets/)
  })

  it('has one with enough', async () => {
    using folder = temporaryFolder({ 'a.detent': profile('needs + 10 mV') })
    expect(await verdicts(folder.path)).toEqual([true, true])
  })
})

describe('runs that stopped', () => {
  const runs = `
run first of daily under work { measured { voltage 1.13 V }; stopped after 12 min "hang" }
run second of daily under work { held 90 s }
`

  it('are reported with what was seen, beside the runs that held', async () => {
    using folder = temporaryFolder({ 'a.detent': profile('needs + 10 mV') + runs })
    expect((await verdicts(folder.path)).filter(one => one === null)).toHaveLength(1)
    const { out, code } = await detent(folder.path, ['check', '--fail-on', 'warning'])
    expect(code).toBe(1)
    expect(out).toContain('[needs-contradicted]')
    const text = await detent(folder.path, ['predict', '--runs'])
    expect(text.out).toContain('stopped after 12 min (“hang”)')
    expect(text.out).toContain('held 1 min 30 s')
    const json = await detent(folder.path, ['predict', '--runs', '--output', 'json'])
    expect(JSON.parse(json.out).runs).toMatchObject([
      { run: 'first', held_s: null, stopped_s: 720, stopped_why: 'hang' },
      { run: 'second', held_s: 90, stopped_s: null, stopped_why: null },
    ])
    const report = await detent(folder.path, ['report', '--output', 'markdown'])
    expect(report.out).toContain('stopped after 12 min (“hang”)')
    expect(report.out).toContain('held 1 min 30 s')
    expect(report.out).toContain('## Voltages of part sample')
    // The box stands at the head of the report, once.
    expect(report.out.match(/> \*\*Caution:\*\*/g)).toHaveLength(1)
    expect(report.out).toMatch(/\| 46x +\| 1\.120 V \| \d+ % +\| contradicted \|/)
    const sheet = await detent(folder.path, ['sheet', 'daily'])
    expect(sheet.out).toMatch(
      /need at 46x: contradicted: 1\.120 V is enough with a probability of\s+\d+ %; after all\s+trials it\s+takes\s+1\.1\d\d V ±/,
    )
    expect(sheet.out).toMatch(/are not proven: run first stopped \(“hang”\) with 1\.130 V at the\s+die/)
  })

  it('leave a sheet alone that they say nothing of', async () => {
    using folder = temporaryFolder({ 'a.detent': profile('needs + 10 mV') })
    expect((await detent(folder.path, ['sheet', 'daily'])).out).not.toMatch(/proven|need at/)
    expect((await detent(folder.path, ['report', '--output', 'markdown'])).out).not.toContain('Voltages of part')
  })
})

describe('a value far from what is usual', () => {
  it('is the one finding, leaves expectations undecided, and is named beside predictions', async () => {
    using folder = temporaryFolder({ 'a.detent': profile('needs + 10 mV').replace('switching 2 nF', 'switching 2 pF') })
    const { out, code } = await detent(folder.path, ['check'])
    expect(code).toBe(1)
    expect(out).toContain('1 finding (1 error) in 1 file; 0 of 2 expectations hold, 2 undecided')
    const predicted = await detent(folder.path, ['predict'])
    expect(predicted.out + predicted.err).toContain('predicted with a value far from what is usual: line 10')
  })
})
