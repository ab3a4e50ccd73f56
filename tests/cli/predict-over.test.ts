import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

interface Series {
  readonly [key: string]: unknown
  readonly load: string
  readonly t_s: readonly number[]
  readonly clock_mhz: readonly number[]
  readonly power_w: readonly number[]
  readonly die_c: readonly number[]
  readonly drive_a: readonly (number | null)[]
  readonly events: readonly { readonly t_s: number; readonly what: string }[]
}

async function series(folder: string, ...args: string[]): Promise<readonly Series[]> {
  const { out, code } = await detent(folder, ['predict', '--output', 'json', ...args])
  expect(code).toBe(0)
  return (JSON.parse(out) as { series: readonly Series[] }).series
}

describe('predict --over', () => {
  it('gives every load from idle on, at the distance asked for', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const [run, ...others] = await series(folder.path, '--over', '2 min', '--every', '10s')
    expect(others).toEqual([])
    expect(run?.load).toBe('work')
    expect(run?.t_s).toEqual([0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120])
    for (const key of ['clock_mhz', 'power_w', 'die_c', 'plate_c', 'coolant_c', 'drive_a']) {
      expect(run?.[key]).toHaveLength(13)
    }
    expect(run?.drive_a.every(value => value === null)).toBe(true)
    // It warms from idle to what the steady prediction says.
    const { out } = await detent(folder.path, ['predict', '--output', 'json'])
    const steady = (JSON.parse(out) as { predictions: { load: string; die_c: number }[] }).predictions
    const idle = steady.find(({ load }) => load === 'idle')?.die_c ?? Number.NaN
    const work = steady.find(({ load }) => load === 'work')?.die_c ?? Number.NaN
    expect(run?.die_c[0]).toBeGreaterThan(idle)
    expect(run?.die_c[0]).toBeLessThan(work)
    expect(run?.die_c.at(-1)).toBeLessThan(work + 0.01)
    expect(run?.die_c.at(-1)).toBeGreaterThan(run?.die_c[1] ?? Number.NaN)
  })

  it('says when ratio is given back, and why', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  bands { 1 to 4 cores above 32 °C -3x }') })
    const [run] = await series(folder.path, '--over', '3 min')
    expect(run?.events[0]?.what).toBe('ratio given back: band above 32 °C')
    const { out } = await detent(folder.path, ['predict', '--over', '3 min'])
    expect(out).toContain('band above 32 °C')
  })

  it.each([[['--over', 'soon']], [['--over', '5 W']], [['--over', '0 s']], [['--every', '1 s']]])(
    'refuses %j in one line',
    async args => {
      using folder = temporaryFolder({ 'a.detent': benchText() })
      const { code, err } = await detent(folder.path, ['predict', ...args])
      expect(code).toBe(2)
      expect(err.trim().split('\n')).toHaveLength(1)
    },
  )
})

describe('predict --with', () => {
  const other = '\ncooler small kind air {\n  block-resistance 0.05 K/W\n  radiator { 100 % 0.30 K/W }\n}\n'

  it('answers for the same profile on another cooler', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() + other })
    const die = async (...args: string[]): Promise<number> => {
      const { out } = await detent(folder.path, ['predict', '--output', 'json', ...args])
      const rows = (JSON.parse(out) as { predictions: { load: string; die_c: number; power_w: number }[] }).predictions
      return rows.find(({ load }) => load === 'work')?.die_c ?? Number.NaN
    }
    expect(await die('--with', 'cooler=small')).toBeGreaterThan((await die()) + 3)
    expect(await die('--with', 'cooler=tower')).toBe(await die())
  })

  it.each([['cooler=nowhere'], ['fan=small'], ['cooler'], ['cooler=a=b']])('refuses %s in one line', async value => {
    using folder = temporaryFolder({ 'a.detent': benchText() + other })
    const { code, err } = await detent(folder.path, ['predict', '--with', value])
    expect(code).toBe(2)
    expect(err.trim().split('\n')).toHaveLength(1)
  })
})
