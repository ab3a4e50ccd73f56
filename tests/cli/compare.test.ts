import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { predictFaults } from './contract.ts'
import { benchText, detent } from './helpers.ts'

interface Score {
  readonly [key: string]: unknown
  readonly profile: string
  readonly n: number
  readonly verdict: string
}

interface CompareJson {
  readonly version: number
  readonly profiles: readonly string[]
  readonly predicted: readonly Readonly<Record<string, unknown>>[]
  readonly scores: readonly Score[]
  readonly settings: readonly { readonly key: string; readonly values: readonly (string | null)[] }[]
}

const daily = benchText('  voltage { core needs + 50 mV }\n')
const night = '\nprofile night based-on daily {\n  steps { 1 to 4 cores 44x }\n}\n'
const both = daily + night

async function json(folder: string, ...args: string[]): Promise<CompareJson> {
  const { out, code } = await detent(folder, ['compare', ...args, '--output', 'json'])
  expect(code).toBe(0)
  return JSON.parse(out) as CompareJson
}

const run = (name: string, profile: string, score: number, revision = ''): string =>
  `\nrun ${name} of ${profile} under work {\n${revision === '' ? '' : `  revision "${revision}"\n`}  score ${score} "points" higher\n  score ${score + 1} "points" higher\n}\n`

describe('detent compare', () => {
  it('prints predictions, scores and settings side by side', async () => {
    using folder = temporaryFolder({ 'a.detent': both + run('one', 'daily', 100) + run('two', 'night', 90) })
    const { out, code, err } = await detent(folder.path, ['compare', 'daily', 'night'])
    expect({ code, err }).toEqual({ code: 0, err: '' })
    expect(out).toMatch(/^night against daily\n/)
    expect(out).toMatch(/^work +4 +daily +4600 .*\n +night +4400 +-4\.3 %/m)
    expect(out).toMatch(/^night +2 +90\.50 .*worse$/m)
    expect(out).toContain('night against daily: worse, and by more than noise')
    expect(out).toMatch(/^steps 1 to 4 cores +46x +44x$/m)
    expect(out).not.toMatch(/^part /m)
    const all = await detent(folder.path, ['compare', 'daily', 'night', '--all'])
    expect(all.out).toMatch(/^part +sample +sample$/m)
    const markdown = await detent(folder.path, ['compare', 'daily', 'night', '--output', 'markdown'])
    expect(markdown.out).toMatch(/^# night against daily\n/)
  })

  it('gives JSON by the contract', async () => {
    using folder = temporaryFolder({ 'a.detent': both + run('one', 'daily', 100) + run('two', 'night', 90) })
    const value = await json(folder.path, 'daily', 'night')
    expect(Object.keys(value)).toEqual(['version', 'profiles', 'predicted', 'expectations', 'scores', 'settings'])
    expect(value.version).toBe(1)
    expect(value.profiles).toEqual(['daily', 'night'])
    const { out } = await detent(folder.path, ['predict', '--output', 'json'])
    const { predictions } = JSON.parse(out) as { predictions: readonly Record<string, unknown>[] }
    const byKey = (a: Readonly<Record<string, unknown>>, b: Readonly<Record<string, unknown>>): number =>
      `${a.profile} ${a.load}` < `${b.profile} ${b.load}` ? -1 : 1
    // The same rows as `predict` has, in another order.
    expect([...value.predicted].sort(byKey)).toEqual([...predictions].sort(byKey))
    expect(predictFaults({ version: 1, predictions: [...value.predicted].sort(byKey) })).toEqual([])
    expect(value.scores.map(score => Object.keys(score))).toEqual(
      Array(2).fill([
        'load',
        'unit',
        'better',
        'profile',
        'n',
        'mean',
        'sd',
        'gain_pct',
        'interval_pct',
        'p',
        'method',
        'verdict',
      ]),
    )
    expect(value.scores[0]).toMatchObject({
      profile: 'daily',
      verdict: 'baseline',
      gain_pct: null,
      interval_pct: null,
      p: null,
      method: 'none',
    })
    expect(value.scores[1]).toMatchObject({
      load: 'work',
      unit: 'points',
      better: 'higher',
      n: 2,
      mean: 90.5,
      verdict: 'worse',
      method: 'welch',
    })
    expect(value.scores[1]?.interval_pct).toHaveLength(2)
    expect(value.settings).toEqual([{ key: 'steps 1 to 4 cores', values: ['46x', '44x'] }])
    expect((await json(folder.path, 'daily', 'night', '--all')).settings).toContainEqual({
      key: 'part',
      values: ['sample', 'sample'],
    })
  })

  it('shows what is expected of each, of courses and over time too, by the figures of predict', async () => {
    const asked = [
      'expect work holds >= 4.5 GHz',
      'expect work holds >= 4.3 GHz for 2 min',
      'expect course day die <= 90 °C',
      'expect course day trips after >= 60 s',
    ]
    const course = '\ncourse day { idle 20 s; work 60 s }\n'
    const own = night.replace('}\n}', '}\n  expect work power <= 1 W\n}')
    using folder = temporaryFolder({
      'a.detent': benchText(`  voltage { core needs + 50 mV }\n  ${asked.join('\n  ')}\n`) + course + own,
    })
    const { out } = await detent(folder.path, ['compare', 'daily', 'night', '--output', 'json'])
    const { expectations } = JSON.parse(out) as {
      expectations: readonly {
        text: string
        values: readonly ({ holds: boolean | null; predicted: number } | null)[]
      }[]
    }
    expect(
      expectations.map(({ text, values }) => [text, ...values.map(one => (one === null ? null : one.holds))]),
    ).toEqual([
      ['work holds >= 4.5 GHz', true, false],
      ['work holds >= 4.3 GHz for 2 min', true, true],
      ['course day die <= 90 °C', true, true],
      ['course day trips after >= 60 s', true, true],
      ['work power <= 1 W', null, false],
    ])
    const clock = expectations[0]?.values.map(one => one?.predicted)
    expect(clock?.[0]).toBeCloseTo(4.6, 9)
    expect(clock?.[1]).toBeCloseTo(4.4, 9)
    const text = await detent(folder.path, ['compare', 'daily', 'night'])
    expect(text.out).toMatch(
      /^Expected\nexpected +daily +night\nwork holds >= 4\.5 GHz +holds: 4\.60 GHz +does not hold: 4\.40 GHz$/m,
    )
    expect(text.out).toMatch(/^work power <= 1 W +– +does not hold: /m)
    const markdown = await detent(folder.path, ['compare', 'daily', 'night', '--output', 'markdown'])
    expect(markdown.out).toMatch(/^## Expected$/m)
    expect(markdown.out).toMatch(/^\| course day die \S{2,5} 90.°C +\| holds: /m)
  })

  it('takes three profiles, and files behind them', async () => {
    using folder = temporaryFolder({
      'd/a.detent': `${both}\nprofile noon based-on daily { vector -1x }\n`,
      'b.detent': both,
    })
    const value = await json(folder.path, 'daily', 'night', 'noon', 'd')
    expect(value.profiles).toEqual(['daily', 'night', 'noon'])
    expect(value.settings.map(({ values }) => values)).toEqual([
      ['46x', '44x', '46x'],
      [null, null, '-1x'],
    ])
  })

  it('puts all into one room', async () => {
    const other = `${both.replace('  steps { 1 to 4 cores 44x }', '  room attic')}\nroom attic { air 30 °C; humidity 40 % }\n`
    using folder = temporaryFolder({ 'a.detent': other })
    const apart = await json(folder.path, 'daily', 'night')
    const together = await json(folder.path, 'daily', 'night', '--with', 'room=attic')
    const airs = ({ predicted }: CompareJson): unknown[] =>
      predicted.filter(row => row.load === 'work').map(row => row.air_c)
    expect(airs(apart)).toEqual([20, 30])
    expect(airs(together)).toEqual([30, 30])
  })

  it('reads runs of files beside', async () => {
    using folder = temporaryFolder({
      'a.detent': both,
      'runs.detent': `detent 1\nuse "a.detent"\n${run('one', 'daily', 100)}`,
    })
    expect((await json(folder.path, 'daily', 'night', 'a.detent')).scores).toHaveLength(1)
  })

  it('goes to 1 where a profile has no prediction, and says why', async () => {
    using folder = temporaryFolder({ 'a.detent': `${both}\nprofile bare { part sample }\n` })
    const { code, out, err } = await detent(folder.path, ['compare', 'daily', 'bare'])
    expect(code).toBe(1)
    expect(err).toMatch(/^bare is not predicted: /)
    expect(out).toContain('bare against daily')
  })

  it.each([
    [['compare', 'daily'], 'Name at least two profiles'],
    [['compare', 'daily', 'a.detent'], 'Name at least two profiles'],
    [['compare', 'daily', 'tower'], 'There is no profile tower here; there are daily, night.'],
    [['compare', 'daily', 'nigth'], 'There is no profile nigth here; did you mean night?'],
    [['compare', 'daily', 'daily'], 'daily is named twice'],
    [['compare', 'daily', 'night', './gone'], 'there is no such file'],
    [
      ['compare', 'daily', 'night', '--with', 'room=nowhere'],
      'There is no room nowhere in the file of daily or those it uses',
    ],
    [['compare', 'daily', 'night', '--with', 'fan=x'], 'write kind=name'],
    [['compare', 'daily', 'night', '--output', 'html'], 'Allowed choices are'],
  ])('refuses %j in one line', async (args, message) => {
    using folder = temporaryFolder({ 'a.detent': both })
    const { code, err, out } = await detent(folder.path, args)
    expect({ code, out }).toEqual({ code: 2, out: '' })
    expect(err.trim().split('\n')).toHaveLength(1)
    expect(err).toContain(message)
  })
})

describe('detent compare with revisions', () => {
  it('holds what is against what was, each with the runs of its own values', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const first = commitFiles(folder.path, { 'a.detent': daily })
    const second = commitFiles(folder.path, { 'a.detent': daily.replace('46x', '45x') })
    // Another line, the same values as at `second`.
    const third = commitFiles(folder.path, { 'a.detent': `# said\n${daily.replace('46x', '45x')}` })
    const now = daily.replace('46x', '44x')
    const runs = [
      run('was', 'daily', 100, first),
      run('between', 'daily', 80, third.slice(0, 10)),
      run('is', 'daily', 60),
      run('lost', 'daily', 70, 'an-old-note'),
    ].join('')
    writeFileSync(join(folder.path, 'a.detent'), now + runs)
    const value = await json(folder.path, `daily@${first}`, `daily@${second}`, 'daily')
    expect(value.profiles).toEqual([`daily@${first}`, `daily@${second}`, 'daily'])
    expect(value.settings).toEqual([{ key: 'steps 1 to 4 cores', values: ['46x', '45x', '44x'] }])
    expect(value.scores.map(({ profile, n, mean }) => [profile, n, mean])).toEqual([
      [`daily@${first}`, 2, 100.5],
      [`daily@${second}`, 2, 80.5],
      ['daily', 4, 65.5],
    ])
    const { err } = await detent(folder.path, ['compare', `daily@${first}`, 'daily', '--output', 'json'])
    expect(err).toContain('daily: the revision of lost could not be read')
    expect(err).toContain('daily: not counted, because made with other values: was, between.')
    expect(err).toContain(`daily@${first}: not counted, because without a \`revision\` they count as today’s runs: is.`)
    expect(err).not.toContain('constants of the bench')
  })

  it('says which constants each side is predicted with', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const first = commitFiles(folder.path, { 'a.detent': daily })
    writeFileSync(join(folder.path, 'a.detent'), daily.replace('switching 2 nF', 'switching 1.9 nF'))
    const { err } = await detent(folder.path, ['compare', `daily@${first}`, 'daily', '--output', 'json'])
    expect(err).toContain(
      `daily@${first}: predicted with the constants of the bench as they were then, which differ today (below). Runs are compared with today’s.`,
    )
  })

  it('counts the same runs as a report with a baseline', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const first = commitFiles(folder.path, { 'a.detent': both })
    const runs = run('old', 'daily', 100, first) + run('new', 'daily', 60) + run('other', 'night', 70)
    writeFileSync(join(folder.path, 'a.detent'), both.replace('46x', '45x') + runs)
    const { out } = await detent(folder.path, ['compare', 'night', 'daily'])
    const args = ['report', '--baseline', 'night', '--output', 'markdown', 'a.detent']
    const { out: report } = await detent(folder.path, args)
    for (const text of [out, report]) {
      const plain = text.replace(/[\s`]+/g, ' ')
      expect(plain).toContain('daily: not counted, because made with other values: old.')
      expect(plain).toMatch(/daily against night: worse, and by more than noise \(2 and 2 scores/)
    }
  })

  it('says in one line what is not there', async () => {
    using folder = temporaryFolder({ 'a.detent': both })
    const { code, err } = await detent(folder.path, ['compare', 'daily@HEAD', 'daily'])
    expect(code).toBe(2)
    expect(err).toMatch(/^detent: .* is in no git repository\.\n$/)
  })

  it('compares a profile that is gone', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'a.detent': both + run('one', 'night', 100) })
    commitFiles(folder.path, { 'a.detent': daily })
    const value = await json(folder.path, 'daily', 'night@HEAD~1')
    expect(value.settings).toEqual([{ key: 'steps 1 to 4 cores', values: ['46x', '44x'] }])
    expect(value.scores.map(({ profile, n }) => [profile, n])).toEqual([['night@HEAD~1', 2]])
  })
})
