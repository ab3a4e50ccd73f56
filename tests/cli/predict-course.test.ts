import { describe, expect, it, vi } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

const courses = `
course session {
  start room
  work until coolant >= 22 °C within 2 min
  work 20 s
  idle 10 s
}
course stuck {
  idle until die >= 90 °C within 5 s
  fault chiller 0 %
  work 5 s
}
course days {
  work 20 h
  idle 5 h
}
`

interface Found {
  readonly [key: string]: unknown
  readonly end_s: number
  readonly steps: readonly { readonly [key: string]: unknown; readonly start_s: number; readonly end_s: number }[]
  readonly events: readonly { readonly t_s: number; readonly what: string }[]
}

const stepKeys = [
  ...['line', 'load', 'start_s', 'end_s', 'ended', 'clock_low_mhz', 'power_high_w', 'die_high_c', 'plate_low_c'],
  ...['coolant_high_c', 'above_wet_low_k'],
]

describe('predict --course', () => {
  it('gives every step of every corner, by the contract', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() + courses })
    const { out, code } = await detent(folder.path, ['predict', '--course', 'session', '--output', 'json'])
    expect(code).toBe(0)
    const { courses: found, version } = JSON.parse(out) as { version: number; courses: readonly Found[] }
    expect(version).toBe(1)
    const first = found[0]
    expect(Object.keys(first ?? {})).toEqual([
      ...[
        'file',
        'profile',
        'course',
        'room',
        'air_c',
        'humidity_pct',
        'end_s',
        'trip_s',
        'steps',
        'events',
        'assumed',
      ],
    ])
    expect(first?.steps.map(step => Object.keys(step))).toEqual([stepKeys, stepKeys, stepKeys])
    expect(first?.steps.map(step => step.load)).toEqual(['work', 'work', 'idle'])
    expect(first?.steps.map(step => step.ended)).toEqual(['reached', 'time', 'time'])
    expect(first?.steps[2]).toMatchObject({ clock_low_mhz: null, end_s: first?.end_s })
    const text = (benchText() + courses).split('\n')
    expect(text[Number(first?.steps[0]?.line) - 1]).toBe('  work until coolant >= 22 °C within 2 min')
    expect(first?.steps[1]?.start_s).toBe(first?.steps[0]?.end_s)
  })

  it('gives the series with --every', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() + courses })
    const args = ['predict', '--course', 'stuck', '--every', '2s', '--output', 'json']
    const { series } = JSON.parse((await detent(folder.path, args)).out) as {
      series: readonly { t_s: readonly number[]; clock_mhz: readonly (number | null)[] }[]
    }
    expect(series[0]?.t_s).toEqual([0, 2, 4, 6, 8, 10])
    expect(series[0]?.clock_mhz.slice(0, 3)).toEqual([null, null, null])
    expect(series[0]?.clock_mhz.at(-1)).toBeGreaterThan(1000)
  })

  it('says what was not reached, and which fault does nothing', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() + courses })
    const { out, code } = await detent(folder.path, ['predict', '--course', 'stuck'])
    expect(code).toBe(0)
    expect(out).toContain('idle until die >= 90 °C: not reached within 5 s')
    expect(out).toContain('`fault chiller` does nothing here')
  })

  it('says where it would settle what was not reached', async () => {
    const warming = 'course warming {\n  start room\n  work until die >= 90 °C within 5 s\n}\n'
    using folder = temporaryFolder({ 'a.detent': benchText() + warming })
    const { out } = await detent(folder.path, ['predict', '--course', 'warming'])
    const line = out.replaceAll(/\s+/g, ' ')
    const [, wasC, settlesC] = /: die was at ([\d.]+) °C, and would settle at ([\d.]+) °C\./.exec(line) ?? []
    const predicted = await detent(folder.path, ['predict', '--output', 'json'])
    const { predictions } = JSON.parse(predicted.out) as { predictions: readonly { load: string; die_c: number }[] }
    expect(settlesC).toBe(predictions.find(({ load }) => load === 'work')?.die_c.toFixed(1))
    expect(Number(wasC)).toBeLessThan(Number(settlesC))
  })

  it('shows a person how far it is, and leaves nothing of that', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() + courses })
    let now = 0
    const clock = vi.spyOn(performance, 'now').mockImplementation(() => {
      now += 500
      return now
    })
    const { out, err } = await detent(folder.path, ['predict', '--course', 'session'], { terminal: true })
    clock.mockRestore()
    const clear = '\u001b[K'
    const told = err.split('\r').slice(1)
    expect(told.length).toBeGreaterThan(2)
    expect(told.at(-1)).toBe(clear)
    for (const one of told.slice(0, -1)) expect(one).toMatch(/^daily: course session, corner 1 of 1, \d+ % /)
    expect(out).toContain('course session of profile daily')
    expect((await detent(folder.path, ['predict', '--course', 'session'])).err).toBe('')
  })

  it.each([
    [['--course', 'days'], 1, 'may last 25 h, and 24 h is the most'],
    [['--course', 'sessio'], 2, 'There is no course sessio that these profiles see: did you mean session?'],
    [['--course', 'session', '--runs'], 2, '--course and --runs cannot be combined'],
    [['--course', 'session', '--over', '5min'], 2, '--course and --over cannot be combined'],
  ])('%j is one message', async (args, exit, message) => {
    using folder = temporaryFolder({ 'a.detent': benchText() + courses })
    const { out, err, code } = await detent(folder.path, ['predict', ...args])
    expect([code, out]).toEqual([exit, ''])
    expect(err).toContain(message)
    expect(err.trim().split('\n')).toHaveLength(1)
  })
})
