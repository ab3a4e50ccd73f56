import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { plannedText } from '../harness/planned-benches.ts'
import { type TemporaryFolder, temporaryFolder } from '../harness/process.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { benchText, detent } from './helpers.ts'

/** `detent propose`: what it prints, writes and refuses. */

interface ProposeJson {
  readonly version: number
  readonly profile: string
  readonly rows: readonly {
    readonly group: null
    readonly from: number
    readonly to: number
    readonly ratio: number
    readonly decided_by: string
    readonly next_fails: Readonly<Record<string, unknown>>
  }[]
  readonly bands: readonly {
    readonly from: number
    readonly to: number
    readonly above_c: number
    readonly drop: number
    readonly less_fails: Readonly<Record<string, unknown>> | null
    readonly later_fails: Readonly<Record<string, unknown>> | null
  }[]
  readonly return_k: number | null
  readonly unmet: readonly { readonly text: string; readonly file: string; readonly line: number }[]
  readonly before: readonly Readonly<Record<string, unknown>>[]
  readonly predicted: readonly Readonly<Record<string, unknown>>[]
}

const warm = benchText('  voltage { core needs + 30 mV }\n  limits { sustained-power 52 W; die 70 °C }\n')

const folders: TemporaryFolder[] = []
afterAll(() => {
  for (const folder of folders) folder[Symbol.dispose]()
})

function folderWith(text: string): string {
  const folder = temporaryFolder({ 'a.detent': text })
  folders.push(folder)
  return folder.path
}

async function json(text: string, ...args: readonly string[]): Promise<{ value: ProposeJson; code: number }> {
  const call = await detent(folderWith(text), ['propose', 'daily', '--output', 'json', ...args])
  expect(call.err).toBe('')
  return { value: JSON.parse(call.out) as ProposeJson, code: call.code }
}

describe('detent propose', () => {
  it('says what decides each row, in words and in figures', async () => {
    const call = await detent(folderWith(warm), ['propose', 'daily'])
    const { value, code } = await json(warm)
    expect([call.code, code]).toEqual([0, 0])
    expect(value.rows[0]?.from).toBe(1)
    expect(value.rows.at(-1)?.to).toBe(4)
    for (const row of value.rows) {
      expect(Object.keys(row)).toEqual(['group', 'from', 'to', 'ratio', 'decided_by', 'next_fails'])
      expect(Object.keys(row.next_fails)).toEqual([
        'load',
        'cores',
        'air_c',
        'humidity_pct',
        'figure',
        'value',
        'allowed',
        'unit',
      ])
      const counts = row.from === row.to ? `${row.from} core` : `${row.from} to ${row.to} cores`
      expect(call.out.replace(/\s+/g, ' ')).toContain(`${row.ratio}x at ${counts}`)
    }
    expect(value.rows.map(row => row.decided_by)).toContain('sustained-power')
  })

  it.each([
    // With a later band more alternates and nothing fails; the threshold is the highest that there is.
    [3, null],
    [10, { decided_by: 'die', load: null, figure: 'above_c', unit: '°C' }],
  ])('says what decides the row of bands of bench %i, in words and in figures', async (seed, later) => {
    const folder = folderWith(plannedText(seed))
    const value = JSON.parse((await detent(folder, ['propose', 'planned', '--output', 'json'])).out) as ProposeJson
    const text = (await detent(folder, ['propose', 'planned'])).out.replace(/\s+/g, ' ')
    const [band, ...more] = value.bands
    expect(more).toEqual([])
    expect(Object.keys(band ?? {})).toEqual(['group', 'from', 'to', 'above_c', 'drop', 'less_fails', 'later_fails'])
    expect(Object.keys(band?.less_fails ?? {})).toEqual(['decided_by', ...Object.keys(value.rows[0]?.next_fails ?? {})])
    expect(band?.less_fails).toMatchObject({ decided_by: 'die', load: 'full activity', figure: 'die_c' })
    if (later === null) expect(band?.later_fails).toBeNull()
    else expect(band?.later_fails).toMatchObject({ ...later, value: (band?.above_c ?? 0) + 1 })
    expect(text).toMatch(new RegExp(`above ${band?.above_c} °C: -${band?.drop}x; (with -\\d+x|without it) \\d+x would`))
    const why =
      later === null
        ? 'every load is just as sound, and the clock alternates in'
        : 'it would not be below the die limit'
    expect(text).toContain(`only above ${(band?.above_c ?? 0) + 1} °C ${why}`)
  })

  it('gives the predictions before and after as predict does', async () => {
    const folder = folderWith(warm)
    const call = await detent(folder, ['propose', 'daily', '--output', 'json'])
    const { before } = JSON.parse(call.out) as ProposeJson
    const predicted = await detent(folder, ['predict', 'daily', '--output', 'json'])
    expect(before).toEqual(JSON.parse(predicted.out).predictions)
    await detent(folder, ['propose', 'daily', '--write'])
    const after = await detent(folder, ['predict', 'daily', '--output', 'json'])
    expect((JSON.parse(call.out) as ProposeJson).predicted).toEqual(JSON.parse(after.out).predictions)
  })

  it('writes into the profile itself, leaves its base, and has nothing to change then', async () => {
    const text = `${warm}\nprofile night based-on daily {\n  limits { sustained-power 40 W }   # quiet\n}\n`
    const folder = folderWith(text)
    const call = await detent(folder, ['propose', 'night', '--write'])
    expect(call).toMatchObject({ code: 0, err: 'a.detent: steps and bands of night written\n' })
    const written = readFileSync(join(folder, 'a.detent'), 'utf8')
    expect(written.startsWith(warm)).toBe(true)
    expect(written.slice(warm.length)).toContain('steps {')
    expect(written).toContain('# quiet')
    const again = await detent(folder, ['propose', 'night', '--write'])
    expect(again).toMatchObject({ code: 0, err: 'Nothing to change.\n' })
    expect(readFileSync(join(folder, 'a.detent'), 'utf8')).toBe(written)
  })

  it('keeps comments: of rows that stay at their rows, of rows that go above the table', async () => {
    const { value } = await json(warm)
    const [first] = value.rows
    const row = first?.from === first?.to ? `${first?.from} core` : `${first?.from} to ${first?.to} cores`
    const text = warm.replace(
      /steps \{[^}]*\}/,
      `steps {   # by busy cores\n    # the quick ones\n    ${row}   ${first?.ratio}x   # proven in May\n    2 to 4 cores   20x   # a guess\n  }`,
    )
    const folder = folderWith(text)
    await detent(folder, ['propose', 'daily', '--write'])
    const written = readFileSync(join(folder, 'a.detent'), 'utf8')
    expect(written).toMatch(/ {2}# a guess\n {2}steps \{ +# by busy cores\n/)
    expect(written).toMatch(new RegExp(`# the quick ones\\n +${row} +${first?.ratio}x +# proven in May\\n`))
    expect(written.match(/#/g)?.length).toBe(text.match(/#/g)?.length)
  })

  it('writes nothing into what does not read', async () => {
    const text = warm.replace('  voltage {', '  nonsense 3\n  voltage {')
    const folder = folderWith(text)
    const call = await detent(folder, ['propose', 'daily', '--write'])
    expect(call.code).toBe(2)
    expect(call.out).toBe('')
    expect(call.err).toMatch(/^detent: Noth.*\n$/)
    expect(readFileSync(join(folder, 'a.detent'), 'utf8')).toBe(text)
  })

  it('takes at most so many rows', async () => {
    const { value } = await json(warm, '--rows', '1')
    expect(value.rows.map(({ from, to }) => [from, to])).toEqual([[1, 4]])
    const all = await json(warm)
    expect(value.rows[0]?.ratio).toBe(all.value.rows.at(-1)?.ratio)
  })

  it('keeps the die where it is asked to', async () => {
    const free = await json(warm)
    const hottest = Math.max(...free.value.predicted.map(one => one.die_c as number))
    const limit = Math.floor(hottest) - 3
    const { value } = await json(warm, '--die', `${limit} °C`)
    const after = value.predicted.map(one => one.die_c as number)
    expect(Math.max(...after)).toBeLessThanOrEqual(limit + 1e-6)
    expect(Math.max(...after)).toBeGreaterThan(limit - 15)
  })

  it('leaves the margin that is asked for', async () => {
    const free = await json(warm)
    const least = Math.min(...free.value.predicted.map(one => one.margin_w as number))
    const { value } = await json(warm, '--margin', `${Math.ceil(least) + 5} W`)
    const after = value.predicted.filter(one => one.cores !== 0).map(one => one.margin_w as number)
    expect(Math.min(...after)).toBeGreaterThanOrEqual(Math.ceil(least) + 5 - 1e-3)
    const lower = (rows: ProposeJson['rows']): number =>
      rows.reduce((sum, row) => sum + row.ratio * (row.to - row.from + 1), 0)
    expect(lower(value.rows)).toBeLessThanOrEqual(lower(free.value.rows))
  })

  it('names an expectation that no plan meets, and leaves it out', async () => {
    const text = warm.replace('  voltage {', '  expect work holds >= 5.9 GHz\n  voltage {')
    const name = /load ([a-z-]+)/.exec(warm)?.[1] ?? ''
    const [, part, ratio] = /^part (\S+)[\s\S]*?ratio \d+x to (\d+)x/m.exec(warm) ?? []
    const most = Number(ratio)
    expect(warm).toContain('reference 100 MHz')
    const { value, code } = await json(text.replace('expect work', `expect ${name}`))
    expect(code).toBe(1)
    expect(value.unmet.map(one => one.text)).toEqual([`${name} holds >= 5.9 GHz`])
    const beyond = await json(text.replace('expect work', `expect ${name}`).replace('5.9 GHz', '9.9 GHz'))
    expect(beyond.value.unmet[0]).toMatchObject({
      why: `part ${part} goes up to ${most}x: ${(most / 10).toFixed(2)} GHz`,
    })
    expect(beyond.value.rows).toEqual(value.rows)
    expect(value.rows).toEqual((await json(warm)).value.rows)
  })

  it('says of a clock that is not held what stops the ratio that it takes', async () => {
    const name = /load ([a-z-]+)/.exec(warm)?.[1] ?? ''
    const text = warm.replace('  voltage {', `  expect ${name} holds >= 4.5 GHz\n  voltage {`)
    const of = async (...args: readonly string[]): Promise<string> =>
      String(((await json(text, ...args)).value.unmet[0] as { readonly why?: unknown } | undefined)?.why)
    const [, takes, die] =
      /^it takes (\d+)x, and \1x would bring the die to ([\d.]+) °C, asked for 32 °C/.exec(
        await of('--die', '32 °C'),
      ) ?? []
    expect(Number(takes)).toBe(45)
    expect(Number(die)).toBeGreaterThan(32)
    expect(await of('--with', 'limits { sustained-power 25 W }')).toMatch(
      /^it takes 45x, and 45x would take [\d.]+ W, allowed 25 W \(`sustained-power`\)/,
    )
  })

  it('says what decides where nothing is carried', async () => {
    const text = warm.replace('die 70 °C', 'die 22 °C')
    const call = await detent(folderWith(text), ['propose', 'daily'])
    expect(call.code).toBe(1)
    expect(call.out).toContain('Nothing can be proposed')
    expect(call.out).toMatch(/would bring the die to\s/)
    const { value } = await json(text)
    expect([value.rows, value.bands, value.predicted, value.return_k]).toEqual([[], [], [], null])
  })

  it('needs no steps in the profile', async () => {
    const text = warm.replace(/ {2}steps \{[^}]*\}\n/, '')
    const { value, code } = await json(text)
    expect(code).toBe(0)
    expect(value.rows).toEqual((await json(warm)).value.rows)
    expect(value.before).toEqual([])
  })

  it('overlays the bench', async () => {
    const { value } = await json(warm, '--with', 'limits { sustained-power 42 W }')
    const { value: own } = await json(warm.replace('sustained-power 52 W', 'sustained-power 42 W'))
    expect(value.rows.map(({ ratio }) => ratio)).toEqual(own.rows.map(({ ratio }) => ratio))
    expect(value.rows).not.toEqual((await json(warm)).value.rows)
  })

  it('gives the same plan for the same input', async () => {
    const folder = folderWith(plannedText(4))
    const [a, b] = [0, 1].map(() => detent(folder, ['propose', 'planned', '--output', 'json']))
    expect(await a).toEqual(await b)
  })

  it.each([
    [['--weight', 'render'], 'Write a load and its weight'],
    [['--weight', 'nobody=2'], 'there is no load nobody'],
    [['--yield', 'nobody'], 'there is no load nobody'],
    [['--margin', '40 °C'], "such as '35 W'"],
    [['--die', '85 K'], "such as '82 °C'"],
    [['--stable', '95 %'], "such as '95 % for 1 h'"],
    [['--stable', '95 % for 1 h'], 'nothing was tried of part'],
    [['--probability', '95'], 'between 0 and 1'],
    [['--rows', '0'], 'at least 1'],
    [['--bands', '-1'], 'at least 0'],
    [['--write', '--with', 'limits { die 60 °C }'], '--write and --with cannot be combined'],
  ])('refuses %j in one line', async (args, why) => {
    const folder = folderWith(warm)
    const call = await detent(folder, ['propose', 'daily', ...args])
    expect(call.code).toBe(2)
    expect(call.out).toBe('')
    expect(call.err).toContain(why)
    expect(call.err.trimEnd().split('\n')).toHaveLength(1)
    expect(readFileSync(join(folder, 'a.detent'), 'utf8')).toBe(warm)
  })

  it('refuses a profile that cannot be predicted, or is not there', async () => {
    const broken = await detent(folderWith(warm.replace(/ {2}room .*\n/, '')), ['propose', 'daily'])
    expect(broken).toMatchObject({ code: 2, out: '', err: expect.stringContaining('the profile has no `room`') })
    const unknown = await detent(folderWith(warm), ['propose', 'nightly'])
    expect(unknown).toMatchObject({
      code: 2,
      out: '',
      err: expect.stringContaining('There is no profile nightly here'),
    })
  })

  it('prints the clock of each group of cores that a load keeps busy, before and after', async () => {
    const folder = folderWith(twoGroups(soundSteps.replace('1 to 10 cores  40x', '1 to 10 cores  30x')))
    const text = await detent(folder, ['propose', 'day'])
    const { before, predicted } = JSON.parse(
      (await detent(folder, ['propose', 'day', '--output', 'json'])).out,
    ) as Record<string, readonly { load: string; groups: readonly { cores: number; clock_mhz: number }[] }[]>
    const clocks = (rows: typeof before, group: number): string => {
      const own = rows?.find(({ load }) => load === 'whole')?.groups[group]
      return `${own?.cores} at ${own?.clock_mhz.toFixed(0)}`
    }
    expect(clocks(before, 1)).toBe('10 at 3000')
    expect(clocks(predicted, 1)).not.toBe('10 at 3000')
    expect(text.out).toMatch(/^load +cores +broad MHz now +then +small MHz now +then$/m)
    expect(text.out.replaceAll(/ {2,}/g, ' | ')).toContain(
      `whole | 14 | ${[0, 1].flatMap(group => [before, predicted].map(rows => clocks(rows, group))).join(' | ')}`,
    )
    expect(text.out).toMatch(/^few +2 +2 at 5300 +2 at \d{4} +– +–$/m)
  })
})
