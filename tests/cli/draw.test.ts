import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it, vi } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { twoGroups } from '../harness/two-groups.ts'
import { benchText, detent } from './helpers.ts'

const examples = fileURLToPath(new URL('../../grammar/examples/', import.meta.url))

describe('draw', () => {
  it('writes a picture to standard output: one element, with a title, that asks for nothing from outside', async () => {
    const { code, out, err } = await detent(examples, ['draw', 'map', 'winter', 'bench'])
    expect([code, err]).toEqual([0, ''])
    expect(out).toMatch(/^<svg [^>]*xmlns="http:\/\/www\.w3\.org\/2000\/svg"[\s\S]*<\/svg>\n$/)
    expect(out).toContain('<title>winter: operating map for full activity</title>')
    expect(out).not.toMatch(/<script|href=|src=|@import|url\((?!#)/)
  })

  it('writes what the ending of the file says, with the numbers of predict', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText() })
    const drawn = await detent(folder.path, ['draw', 'map', 'daily', '--to', 'map.csv'])
    expect([drawn.code, drawn.err]).toEqual([0, 'map.csv written: daily: operating map for full activity\n'])
    const [head = '', ...rows] = readFileSync(join(folder.path, 'map.csv'), 'utf8').trimEnd().split('\r\n')
    const names = head.split(',')
    const { out } = await detent(folder.path, ['predict', '--output', 'json'])
    const { predictions } = JSON.parse(out) as { predictions: Record<string, unknown>[] }
    expect(rows).toHaveLength(predictions.length)
    for (const [index, row] of rows.entries()) {
      for (const [at, cell] of row.split(',').entries()) {
        expect(cell, names[at]).toBe(String(predictions[index]?.[names[at] ?? ''] ?? ''))
      }
    }
    const picture = await detent(folder.path, ['draw', 'cooling', 'daily', '--load', 'work', '--to', 'c.svg'])
    expect(picture.code).toBe(0)
    expect(readFileSync(join(folder.path, 'c.svg'), 'utf8')).toMatch(/^<svg /)
  })

  it('draws a course of a load, and of a run over its prediction', async () => {
    const load = await detent(examples, ['draw', 'course', 'heavy-work', '--load', 'render', '--over', '2min', 'bench'])
    expect([load.code, load.err]).toEqual([0, ''])
    expect(load.out).toContain('from an idle bench')
    const run = await detent(examples, ['draw', 'course', 'heavy-work', '--run', 'heavy-render', 'bench'])
    expect([run.code, run.err]).toEqual([0, ''])
    expect(run.out).toContain('Dots measured, lines predicted')
  }, 180_000)

  it('draws a course with the figures of predict --course, in the corner where it goes worst', async () => {
    using folder = temporaryFolder({
      'a.detent': `${benchText()}course warm { start room; idle 20 s; work 40 s; idle 10 s }\n`,
    })
    const drawn = await detent(folder.path, ['draw', 'course', 'daily', '--course', 'warm', '--to', 'c.csv'])
    expect([drawn.code, drawn.err]).toEqual([0, 'c.csv written: daily: course warm\n'])
    const [head = '', ...rows] = readFileSync(join(folder.path, 'c.csv'), 'utf8').trimEnd().split('\r\n')
    expect(head).toMatch(/^t_s,/)
    const { out } = await detent(folder.path, [
      'predict',
      '--course',
      'warm',
      'daily',
      '--every',
      '1s',
      '--output',
      'json',
    ])
    const { courses, series } = JSON.parse(out) as {
      courses: { air_c: number; steps: { die_high_c: number }[] }[]
      series: Record<string, (number | null)[]>[]
    }
    const hottest = courses.map(({ steps }) => Math.max(...steps.map(one => one.die_high_c)))
    const worst = hottest.indexOf(Math.max(...hottest))
    const { t_s: times = [], clock_mhz: clocks = [] } = series[worst] ?? {}
    expect(rows.map(row => row.split(',')[0])).toEqual(times.map(String))
    // Nothing is drawn of a clock while no core is at work.
    expect(rows.map(row => row.split(',')[1] === '')).toEqual(clocks.map(clock => clock === null))
    expect(clocks).toContain(null)
    // A person at the terminal sees how far it is, in a line that goes when the picture is there.
    let nowMs = 0
    const clock = vi.spyOn(performance, 'now').mockImplementation(() => {
      nowMs += 500
      return nowMs
    })
    const seen = await detent(folder.path, ['draw', 'course', 'daily', '--course', 'warm'], { terminal: true }).finally(
      () => clock.mockRestore(),
    )
    expect(seen.out).toMatch(/^<svg /)
    expect(seen.err).toMatch(/\rdaily: course warm, corner 1 of \d+, \d+ % /)
    expect(seen.err.endsWith('\r\u001b[K')).toBe(true)
    const wrong = await detent(folder.path, ['draw', 'course', 'daily', '--course', 'warn'])
    expect([wrong.code, wrong.err]).toEqual([2, 'detent: There is no course warn; did you mean warm?\n'])
  })

  it('draws the ledger of a part with what its profile gives, and proposals as figures', async () => {
    using folder = temporaryFolder({})
    const to = join(folder.path, 'ledger.csv')
    const { code, err } = await detent(examples, ['draw', 'ledger', 'heavy-work', 'bench', '--to', to])
    expect([code, err]).toEqual([
      0,
      `${to} written: sample-b7 with heavy-work: what each ratio needs, and what it is given\n`,
    ])
    const rows = readFileSync(to, 'utf8').trimEnd().split('\r\n')
    expect(rows[0]).toBe('what,ratio,voltage_v,low_v,high_v,at_die_v,for_s,name')
    const kinds = new Set(rows.slice(1).map(row => row.split(',')[0]))
    expect([...kinds].sort()).toEqual(['given', 'held', 'next', 'stated', 'takes'])
    const wrong = await detent(examples, ['draw', 'ledger', 'heavy-work', 'bench', '--air', '20'])
    expect(wrong.code).toBe(2)
    expect(wrong.err).toContain('ledger takes neither --load nor --air or --humidity')
  }, 180_000)

  it('takes the corner and the bench that are asked for', async () => {
    const { out } = await detent(examples, [
      'draw',
      'cooling',
      'light-work',
      '--air',
      '31 °C',
      '--humidity',
      '20',
      'bench',
    ])
    expect(out).toContain('At 31 °C, 20 %.')
    const other = await detent(examples, ['draw', 'cooling', 'light-work', '--with', 'cooler=big-loop', 'bench'])
    expect(other.out).toContain('light-work: big-loop under full activity')
  })

  it.each([
    [['draw', 'map', 'nobody', 'bench'], 'There is no profile nobody here'],
    [['draw', 'map', 'winter', '--load', 'rendr', 'bench'], 'There is no load rendr here; did you mean render?'],
    [['draw', 'course', 'winter', 'bench'], 'course takes one of --load, --course and --run.'],
    [['draw', 'course', 'winter', '--run', 'nothing', 'bench'], 'There is no run nothing of winter'],
    [['draw', 'map', 'winter', '--run', 'x', 'bench'], '--run is for course.'],
    [['draw', 'map', 'winter', '--course', 'x', 'bench'], '--course is for the chart of that name.'],
    [
      ['draw', 'course', 'winter', '--course', 'x', '--load', 'y', 'bench'],
      'course takes one of --load, --course and --run.',
    ],
    [['draw', 'cooling', 'winter', '--against', 'summer', 'bench'], '--against is for map.'],
    [['draw', 'map', 'winter', '--to', 'x.png', 'bench'], 'x.png: the file must end in .svg or .csv.'],
    [['draw', 'map', 'winter', '--air', 'warm', 'bench'], 'from -60 to 80'],
    [['draw', 'dial', 'winter', 'bench'], 'Allowed choices are map, cooling, course, ledger.'],
  ])('refuses %j in one line', async (args, why) => {
    const { code, out, err } = await detent(examples, args)
    expect([code, out]).toEqual([2, ''])
    expect(err).toContain(why)
    expect(err.trimEnd().split('\n')).toHaveLength(1)
  })

  it('names the group of cores whose steps lack a row', async () => {
    const steps = '  steps broad { 1 to 4 cores 50x }\n  steps small { 1 to 3 cores 40x }'
    using folder = temporaryFolder({ 'a.detent': twoGroups(steps) })
    const uncovered = 'no row of `steps` covers 10 cores of small'
    for (const kind of ['cooling', 'course']) {
      const { code, err } = await detent(folder.path, ['draw', kind, 'day', '--load', 'whole'])
      expect([code, err]).toEqual([2, `detent: There is nothing to draw of day under whole: ${uncovered}.\n`])
    }
    const { err } = await detent(folder.path, ['draw', 'cooling', 'day', '--load', 'few'])
    expect(err).toBe('')
  })

  it('is never written over a log that a run names', async () => {
    const log = 'time,power\n0,10\n1,10\n'
    const run = '\nrun r of daily under work { log "a.csv" { column time "time" s; column power "power" W } }\n'
    using folder = temporaryFolder({ 'a.detent': benchText() + run, 'a.csv': log })
    const { code, err } = await detent(folder.path, ['draw', 'map', 'daily', '--to', 'a.csv'])
    expect(code).toBe(2)
    expect(err).toMatch(/^detent: a\.csv: not written: /)
    expect(readFileSync(join(folder.path, 'a.csv'), 'utf8')).toBe(log)
  })
})
