import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { detent } from './helpers.ts'

const bench = twoGroups(soundSteps, 'course evening { few 2 s; whole 2 s; idle 1 s }\n')

async function asked<T>(...args: string[]): Promise<T> {
  using folder = temporaryFolder({ 'a.detent': bench })
  const { out, code } = await detent(folder.path, ['predict', '--output', 'json', ...args])
  expect(code).toBe(0)
  return JSON.parse(out) as T
}

interface GroupSeries {
  readonly group: string
  readonly cores?: number
  readonly clock_mhz: readonly (number | null)[]
}

describe('a part with groups over time', () => {
  it('has the clock of each group in the series of a load', async () => {
    const { series } = await asked<{
      series: readonly { load: string; clock_mhz: readonly number[]; groups: readonly GroupSeries[] }[]
    }>('--over', '3 s')
    const whole = series.find(({ load }) => load === 'whole')
    expect(whole?.groups.map(({ group, cores }) => [group, cores])).toEqual([
      ['broad', 4],
      ['small', 10],
    ])
    expect(whole?.groups[0]?.clock_mhz).toEqual(whole?.clock_mhz)
    for (const value of whole?.groups[1]?.clock_mhz ?? []) expect(value).toBeCloseTo(4000, 6)
    expect(whole?.groups[1]?.clock_mhz).toHaveLength(4)
    // The first two cores of the part are those of its first group.
    const few = series.find(({ load }) => load === 'few')
    expect(few?.groups[1]).toEqual({ group: 'small', cores: 0, clock_mhz: [null, null, null, null] })
  })

  it('has them in each step of a course, and in its series', async () => {
    const { courses, series } = await asked<{
      courses: readonly { steps: readonly { clock_low_mhz: number | null; groups: unknown }[] }[]
      series: readonly { groups: readonly GroupSeries[] }[]
    }>('--course', 'evening', '--every', '1 s')
    const [first, second, third] = courses[0]?.steps ?? []
    expect(first?.groups).toEqual([
      { group: 'broad', cores: 2, clock_low_mhz: first?.clock_low_mhz },
      { group: 'small', cores: 0, clock_low_mhz: null },
    ])
    expect(second?.groups).toEqual([
      { group: 'broad', cores: 4, clock_low_mhz: second?.clock_low_mhz },
      { group: 'small', cores: 10, clock_low_mhz: expect.closeTo(4000, 6) },
    ])
    expect(third?.groups).toEqual([
      { group: 'broad', cores: 0, clock_low_mhz: null },
      { group: 'small', cores: 0, clock_low_mhz: null },
    ])
    const small = series[0]?.groups.find(({ group }) => group === 'small')
    expect(small?.clock_mhz.map(value => value === null)).toEqual([true, true, true, false, false, true])
  })
})
