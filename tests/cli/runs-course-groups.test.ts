import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { detent } from './helpers.ts'

/** A log of a course that the model itself followed, and what is made of it where one group of cores ran otherwise. */

const bench = twoGroups(
  soundSteps,
  'load many { cores small 8; activity 0.9 }\ncourse evening { idle 20 s; few 40 s; whole 1 min; many 40 s }\n',
)
const columns =
  'column time "t" s; column clock broad "broad" MHz; column clock small "small" MHz; column power "power" W; column die "die" °C'
const run = `run walked of day under course evening {\n  air 25 °C\n  humidity 48 %\n  log "a.csv" { ${columns} }\n}\n`

interface Series {
  readonly t_s: readonly number[]
  readonly power_w: readonly number[]
  readonly die_c: readonly number[]
  readonly groups: readonly { readonly group: string; readonly clock_mhz: readonly (number | null)[] }[]
}
interface Figure {
  readonly figure: string
  readonly group?: string
  readonly measured: number
  readonly predicted: number
  readonly off: boolean
}
interface Run {
  readonly figures: readonly Figure[]
  readonly steps: readonly { readonly load: string; readonly figures: readonly Figure[] }[]
}

/** @param smallMhz added to the clock of the small cores that was followed */
async function logged(smallMhz = 0) {
  const folder = temporaryFolder({ 'a.detent': bench })
  const asked = ['predict', '--course', 'evening', '--every', '1s', '--output', 'json']
  const { out } = await detent(folder.path, asked)
  const [series] = (JSON.parse(out) as { series: Series[] }).series
  const [broad = [], small = []] = series?.groups.map(({ clock_mhz }) => clock_mhz) ?? []
  const rows = (series?.t_s ?? []).map((t, at) => {
    const slow = small[at] == null ? 800 : small[at] + smallMhz
    return [t, broad[at] ?? 800, slow, series?.power_w[at], series?.die_c[at]].join(',')
  })
  writeFileSync(join(folder.path, 'a.csv'), `t,broad,small,power,die\n${rows.slice(1).join('\n')}\n`)
  writeFileSync(join(folder.path, 'a.detent'), bench + run)
  return folder
}

async function runIn(folder: string): Promise<Run> {
  const { code, out } = await detent(folder, ['predict', '--runs', '--output', 'json'])
  expect(code).toBe(0)
  return (JSON.parse(out) as { runs: Run[] }).runs[0] as Run
}

describe('a run under a course, of a part with groups', () => {
  it('compares the clock of each group, where it is at work', async () => {
    using folder = await logged()
    const { figures, steps } = await runIn(folder.path)
    const clocks = figures.filter(({ figure }) => figure === 'clock')
    expect(clocks.map(({ group }) => group)).toEqual(['broad', 'small'])
    for (const { measured, predicted, off } of clocks) {
      expect(Math.abs(measured - predicted)).toBeLessThan(0.02)
      expect(off).toBe(false)
    }
    const inSteps = steps.map(step => [
      step.load,
      step.figures.flatMap(({ figure, group }) => (figure === 'clock' ? (group ?? 'none') : [])),
    ])
    expect(inSteps).toEqual([
      ['idle', []],
      ['few', ['broad']],
      ['whole', ['broad', 'small']],
      ['many', ['small']],
    ])
  })

  it('finds the group whose clock is off, and no other', async () => {
    using folder = await logged(-150)
    const { figures } = await runIn(folder.path)
    expect(figures.flatMap(({ figure, group, off }) => (off ? [`${figure} ${group}`] : []))).toEqual(['clock small'])
    const { out } = await detent(folder.path, ['check'])
    expect(out).toMatch(/clock of small/)
    const drawn = await detent(folder.path, ['draw', 'course', 'day', '--run', 'walked', '--to', 'o.csv'])
    expect(drawn.code).toBe(0)
  })

  it('says the lowest clock of each group in text, step by step', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const { out } = await detent(folder.path, ['predict', '--course', 'evening'])
    expect(out).toMatch(/load +ends +broad MHz +small MHz/)
    expect(out).toMatch(/few +time +5300 {2,}\d+\.\d/)
    expect(out).toMatch(/whole +time +5000 +4000 /)
  })
})
