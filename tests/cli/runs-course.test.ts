import { readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

/**
 * Logs of a course that the model itself followed, so that a log of the bench as it is described is as predicted. The
 * course as it was lived has other times than the one that the run names.
 */

const loads = 'load work { cores 4; activity 0.8 }'
const bench = benchText().replace(loads, `${loads}\nload light { cores 1; activity 0.4 }`)
const courses = `
course lived { idle 40 s; light 90 s; work 160 s; idle 70 s }
course stint { idle 20 s; light 1 min; work until die >= 40 °C within 2 min; idle 1 min }
course broken { idle 20 s; light 1 min; fault fan 0 %; work 2 min; idle 1 min }
`
const columns = `column time "t" s; column clock "clock" MHz; column power "power" W; column die "die" °C`
const run = (course: string, body = `log "a.csv" { ${columns} }`): string =>
  `run walked of daily under course ${course} {\n  air 20 °C\n  humidity 40 %\n  ${body}\n}\n`

interface Figure {
  readonly figure: string
  readonly difference: number
  readonly off: boolean
}
interface Run {
  readonly load: string | null
  readonly course: string | null
  readonly figures: readonly Figure[]
  readonly steps: readonly { load: string; start_s: number; end_s: number; figures: readonly Figure[] }[] | null
}

/** The log of the course `lived`, in a folder with a run under another course. */
async function logged(text: string, of = bench) {
  const folder = temporaryFolder({ 'a.detent': bench + courses })
  const { out } = await detent(folder.path, ['predict', '--course', 'lived', '--every', '1s', '--output', 'json'])
  const [series] = (JSON.parse(out) as { series: Record<string, (number | null)[]>[] }).series
  const { t_s: times = [], clock_mhz: clocks = [], power_w: powers = [], die_c: dies = [] } = series ?? {}
  const rows = times.map((t, at) => [t, clocks[at] ?? 800, powers[at], dies[at]].join(',')).slice(1)
  writeFileSync(join(folder.path, 'a.csv'), `t,clock,power,die\n${rows.join('\n')}\n`)
  writeFileSync(join(folder.path, 'a.detent'), of + courses + text)
  return folder
}

async function runIn(folder: string): Promise<Run> {
  const { code, out } = await detent(folder, ['predict', '--runs', '--output', 'json'])
  expect(code).toBe(0)
  return (JSON.parse(out) as { runs: Run[] }).runs[0] as Run
}

describe('a run under a course', () => {
  it('finds each step in the log, whatever its time, and is as predicted over all of them and in each', async () => {
    using folder = await logged(run('stint'))
    const told = await runIn(folder.path)
    expect([told.load, told.course]).toEqual([null, 'stint'])
    // What comes before the stated 20 s of the first step is not of the course.
    expect(told.steps?.map(step => [step.load, step.start_s, step.end_s])).toEqual([
      ['idle', 20, 39],
      ['light', 40, 129],
      ['work', 130, 289],
      ['idle', 290, 349],
    ])
    expect(told.figures.map(({ figure }) => figure)).toEqual(['clock', 'power', 'die'])
    for (const { figure, difference, off } of told.figures) {
      expect(Math.abs(difference), figure).toBeLessThan(0.3)
      expect(off, figure).toBe(false)
    }
    const { code, out } = await detent(folder.path, ['check'])
    expect([code, out.trim()]).toEqual([0, 'Nothing found in 1 file.'])
    const text = await detent(folder.path, ['predict', '--runs'])
    expect(text.out).toContain('run walked of daily under course stint')
    expect(text.out).toContain('by step, measured less predicted')
  })

  it('is off on another bench, says so once, and a fit learns from all its steps', async () => {
    const other = bench.replace('block-resistance 0.05 K/W', 'block-resistance 0.2 K/W')
    using folder = await logged(run('stint'), other)
    const off = (await runIn(folder.path)).figures.filter(one => one.off)
    expect(off.map(({ figure }) => figure)).toEqual(['die'])
    const { out } = await detent(folder.path, ['check', '--output', 'json'])
    const { findings } = JSON.parse(out) as { findings: { code: string; course?: string; load?: string }[] }
    const found = findings.filter(({ code }) => code === 'prediction-off')
    expect(found).toHaveLength(1)
    expect(found[0]).toMatchObject({ course: 'stint' })
    const fit = await detent(folder.path, ['fit', 'a.detent', '--output', 'json'])
    const { parameters } = JSON.parse(fit.out) as { parameters: { name: string; value: number }[] }
    const block = parameters.find(({ name }) => name.startsWith('block-resistance'))
    expect(block?.value).toBeGreaterThan(0.035)
    expect(block?.value).toBeLessThan(0.07)
  }, 60_000)

  it('counts in a fit up to a fault alone, since the cooler is another one from there on', async () => {
    using whole = await logged(run('stint'))
    using broken = await logged(run('broken'))
    const learned = async (folder: string): Promise<number> => {
      const { out } = await detent(folder, ['fit', 'a.detent', '--output', 'json'])
      const { parameters } = JSON.parse(out) as { parameters: { name: string; learned: number }[] }
      return parameters.find(({ name }) => name.startsWith('switching'))?.learned ?? Number.NaN
    }
    expect(await learned(broken.path)).toBeLessThan(await learned(whole.path))
  }, 60_000)

  it('says in one finding that steps cannot be found without power, and that figures by hand say nothing', async () => {
    using blind = await logged(run('stint', 'log "a.csv" { column time "t" s; column die "die" °C }'))
    const { out } = await detent(blind.path, ['check'])
    expect(out).toContain('Nothing to compare: its log has no power, by which the steps of the course are told apart')
    writeFileSync(join(blind.path, 'a.detent'), bench + courses + run('stint', 'measured { power 50 W; die 36 °C }'))
    const byHand = await detent(blind.path, ['check'])
    expect(byHand.out).toContain('Figures read off by hand say nothing of a course')
    const fit = await detent(blind.path, ['fit', 'a.detent'])
    expect(fit.out.replace(/\s+/g, ' ')).toContain('figures read off by hand are those of a load, not of a course')
  })

  it('is drawn: the log over the course as it was lived', async () => {
    using folder = await logged(run('stint'))
    const drawn = await detent(folder.path, ['draw', 'course', 'daily', '--run', 'walked', '--to', 'o.csv'])
    expect([drawn.code, drawn.err]).toEqual([0, 'o.csv written: Run walked: daily under course stint\n'])
    const rows = readFileSync(join(folder.path, 'o.csv'), 'utf8').trimEnd().split('\r\n')
    expect(rows.some(row => row.endsWith('measured'))).toBe(true)
    expect(rows.some(row => row.endsWith('predicted'))).toBe(true)
  })
})
