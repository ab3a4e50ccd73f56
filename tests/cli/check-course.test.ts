import { describe, expect, it, vi } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { checkFaults } from './contract.ts'
import { benchText, detent } from './helpers.ts'

const courses = `
course session {
  start room
  work 20 s
  idle 10 s
}
course rest { idle 10 s }
course fails {
  start settled work
  work 5 s
  fault pump 0 %
  fault fan 0 %
  work 2 h
}
course stuck {
  idle until die >= 90 °C within 5 s
  work 5 s
}
`

interface Report {
  readonly expectations: readonly {
    readonly text: string
    readonly holds: boolean | null
    readonly predicted: number | null
    readonly course?: string
    readonly probability?: number
  }[]
  readonly findings: readonly { readonly code: string; readonly message: string; readonly course?: string }[]
}

/** What `check` says of these expectations. */
async function checked(lines: readonly string[], change = (text: string): string => text): Promise<Report> {
  using folder = temporaryFolder({ 'a.detent': change(benchText(`${lines.join('\n  ')}\n`)) + courses })
  const { out } = await detent(folder.path, ['check', '--output', 'json'])
  return JSON.parse(out) as Report
}

/** Whether one expectation holds. */
async function verdictOf(line: string, change?: (text: string) => string): Promise<boolean | null | undefined> {
  return (await checked([line], change)).expectations[0]?.holds
}

describe('what is expected of a course', () => {
  it.each([
    ['expect course session die <= 200 °C', true],
    ['expect course session die <= 25 °C', false],
    ['expect course session plate <= 200 °C', true],
    ['expect course session plate above dew by 1 K', true],
    ['expect course session plate above dew by 90 K', false],
    ['expect course session coolant >= 10 °C', true],
    ['expect course session power <= 500 W', true],
    ['expect course session power <= 10 W', false],
    ['expect course session voltage >= 1 V', true],
    ['expect course session current <= 1 A', false],
    ['expect course session holds >= 1 GHz', true],
    ['expect course session holds >= 5.9 GHz', false],
    ['expect course session trips after >= 10 s', true],
    ['expect course session trips after <= 10 s', false],
    ['expect course session trips after >= 2 min', null],
    ['expect course session drive-power <= 100 W', null],
    ['expect course rest holds >= 1 GHz', null],
  ])('%s: %s', async (line, holds) => {
    expect(await verdictOf(line)).toBe(holds)
  })

  it('is named in expectations and findings, without a probability', async () => {
    const report = await checked(['expect course session die <= 25 °C', 'expect course stuck die <= 95 °C'])
    expect(checkFaults(report)).toEqual([])
    expect(report.expectations.map(one => one.course)).toEqual(['session', 'stuck'])
    expect(report.expectations.every(one => one.probability === undefined)).toBe(true)
    const found = report.findings.filter(one => one.course !== undefined)
    expect(found.map(one => `${one.code} ${one.course}`).sort()).toEqual([
      'course-waits stuck',
      'expect-failed session',
    ])
    expect(found.find(one => one.code === 'course-waits')?.message).toMatch(/was at \d.* and would settle at \d/)
  })

  it('counts a trip from the last fault, and a machine that stops holds no clock', async () => {
    const weak = (text: string): string => text.replace('  die-limit 100 °C\n', '  die-limit 100 °C\n  trip 75 °C\n')
    const soon = await checked(
      ['expect course fails trips after >= 90 min', 'expect course fails holds >= 1 GHz'],
      weak,
    )
    expect(soon.expectations.map(one => one.holds)).toEqual([false, false])
    const minutes = soon.expectations[0]?.predicted ?? 0
    expect(await verdictOf(`expect course fails trips after >= ${(minutes * 60 - 1).toFixed(0)} s`, weak)).toBe(true)
    expect(await verdictOf(`expect course fails trips after >= ${(minutes * 60 + 1).toFixed(0)} s`, weak)).toBe(false)
  })

  it('is followed in sight of a person at a terminal, who is left nothing of that', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  expect course session die <= 95 °C\n') + courses })
    let now = 0
    const clock = vi.spyOn(performance, 'now').mockImplementation(() => {
      now += 500
      return now
    })
    const { err, code } = await detent(folder.path, ['check'], { terminal: true })
    clock.mockRestore()
    expect(code).toBe(0)
    const told = err.split('\r').slice(1)
    expect(told.length).toBeGreaterThan(2)
    expect(told.at(-1)).toBe('\u001b[K')
    for (const one of told.slice(0, -1)) expect(one).toMatch(/^followed over time: 0 of 1 /)
    expect((await detent(folder.path, ['check'])).err).toBe('')
  })

  it('is apart from what is expected of a load of that name', async () => {
    const named = (text: string): string => text.replaceAll('load work', 'load session').replaceAll('work', 'session')
    using folder = temporaryFolder({
      'a.detent':
        named(benchText('expect session die <= 200 °C\n  expect course session die <= 20 °C\n')) +
        'course session { session 5 s }\n',
    })
    const { out } = await detent(folder.path, ['check', '--output', 'json'])
    const { expectations } = JSON.parse(out) as Report
    expect(expectations.map(one => [one.course, one.holds])).toEqual([
      [undefined, true],
      ['session', false],
    ])
  })

  it('of a course that nothing defines is one finding', async () => {
    const { findings } = await checked(['expect course nowhere die <= 95 °C'])
    expect(findings.filter(one => one.code !== 'unused-name').map(one => one.code)).toEqual(['unknown-name'])
  })
})
