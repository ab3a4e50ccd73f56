import { mkdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { soundSteps, twoGroups } from '../harness/two-groups.ts'
import { benchText, detent } from './helpers.ts'

type Pair = readonly [number | null, number | null]

interface SinceJson {
  readonly version: number
  readonly since: string
  readonly profiles: readonly {
    readonly file: string
    readonly profile: string
    readonly change: string
    readonly settings: readonly {
      readonly key: string
      readonly before: string | null
      readonly after: string | null
    }[]
    readonly predicted: readonly {
      readonly load: string
      readonly cores: number
      readonly air_c: number
      readonly humidity_pct: number
      readonly clock_mhz: Pair
      readonly power_w: Pair
      readonly die_c: Pair
      readonly margin_w: Pair
      readonly groups?: readonly unknown[]
    }[]
    readonly expectations: readonly unknown[]
    readonly findings: {
      readonly new: readonly { readonly code: string }[]
      readonly gone: readonly { readonly code: string }[]
    }
  }[]
}

async function since(folder: string, ...args: string[]): Promise<SinceJson> {
  const { out, err, code } = await detent(folder, ['compare', '--output', 'json', '--since', ...args])
  expect({ code, err }).toEqual({ code: 0, err: '' })
  return JSON.parse(out) as SinceJson
}

interface Predicted {
  readonly profile: string
  readonly load: string
  readonly air_c: number
  readonly clock_mhz: number
  readonly power_w: number
  readonly die_c: number
  readonly margin_w: number
}

async function predicted(folder: string): Promise<ReadonlyMap<string, Predicted>> {
  const { out } = await detent(folder, ['predict', '--output', 'json'])
  const { predictions } = JSON.parse(out) as { predictions: readonly Predicted[] }
  return new Map(predictions.map(row => [`${row.profile} ${row.load}`, row]))
}

const bench = benchText('  voltage { core needs + 50 mV }\n  expect work die <= 45 °C\n')
const night = 'use "bench.detent"\n\nprofile night based-on daily {\n  steps { 1 to 4 cores 44x }\n}\n'
const nightFile = `detent 1\n${night}`

const warm = bench.replace('air 20 °C', 'air 23 °C')
const quick = warm.replace('1 to 4 cores   46x', '1 to 4 cores   47x')
const offset = quick.replace('+ 50 mV', '+ 60 mV')

/** Ten commits, each one change. */
const history: readonly Readonly<Record<string, string | null>>[] = [
  { 'bench.detent': bench },
  { 'night.detent': nightFile },
  { 'bench.detent': `# a remark\n${bench}` },
  { 'bench.detent': warm },
  { 'bench.detent': quick },
  { 'night.detent': null, 'late.detent': nightFile },
  { 'bench.detent': offset },
  { 'bench.detent': offset.replace('die <= 45', 'die <= 30') },
  { 'late.detent': `${nightFile}# as before\n` },
  { 'late.detent': null },
]

/** Of each the clock of `work` before and now in MHz, by hand: the ratio times the reference of 100 MHz. */
const clocks: readonly Readonly<Record<string, Pair>>[] = [
  { night: [null, 4400] },
  {},
  { daily: [4600, 4600], night: [4400, 4400] },
  { daily: [4600, 4700] },
  {},
  { daily: [4700, 4700], night: [4400, 4400] },
  {},
  {},
  { night: [4400, null] },
]

/** What holding each against the last says, worked out by hand: profiles, how they changed, which settings. */
const steps: readonly (readonly (readonly string[])[])[] = [
  [['night', 'new']],
  [],
  // Another room: its corners are others, so no figure has a partner.
  [
    ['daily', 'changed', 'room air'],
    ['night', 'changed', 'room air'],
  ],
  [['daily', 'changed', 'steps 1 to 4 cores']],
  // A file that is called otherwise: the name finds its profile.
  [],
  [
    ['daily', 'changed', 'voltage core'],
    ['night', 'changed', 'voltage core'],
  ],
  [
    ['daily', 'changed'],
    ['night', 'changed'],
  ],
  [],
  [['night', 'gone']],
]

describe('detent compare --since', () => {
  it('says of ten commits what a table made by hand says', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    let before: ReadonlyMap<string, Predicted> = new Map()
    for (const [index, files] of history.entries()) {
      commitFiles(folder.path, files)
      const now = await predicted(folder.path)
      if (index > 0) {
        const { profiles } = await since(folder.path, 'HEAD~1')
        const told = profiles.map(({ profile, change, settings }) => [
          profile,
          change,
          ...settings.map(({ key }) => key),
        ])
        expect(told.sort(), `commit ${index + 1}`).toEqual(steps[index - 1])
        const ofWork = profiles.flatMap(({ profile, predicted: rows }) => {
          const own = rows.filter(({ load }) => load === 'work').map(({ clock_mhz }) => clock_mhz)
          // Another room has another corner: what was in the old one, and what is in the new one.
          const pair = [0, 1].map(side => own.map(one => one[side]).find(one => one !== null) ?? null)
          return own.length === 0
            ? []
            : [[profile, pair.map(mhz => (mhz === null ? null : Number(mhz.toPrecision(12))))]]
        })
        expect(Object.fromEntries(ofWork), `commit ${index + 1}`).toEqual(clocks[index - 1])
        // Every case that two predictions give differently is there, and no other.
        const differing = [...new Set([...before.keys(), ...now.keys()])].filter(key => {
          const [older, newer] = [before.get(key), now.get(key)]
          return (
            older?.air_c !== newer?.air_c ||
            (['clock_mhz', 'power_w', 'die_c', 'margin_w'] as const).some(
              figure => Math.abs((older?.[figure] ?? 0) - (newer?.[figure] ?? 0)) > 1e-3,
            )
          )
        })
        const shown = profiles.flatMap(one => one.predicted.map(({ load }) => `${one.profile} ${load}`))
        expect([...new Set(shown)].sort(), `commit ${index + 1}`).toEqual(differing.sort())
        for (const { profile, predicted: rows } of profiles) {
          for (const row of rows) {
            const [older, newer] = [before, now].map(all => all.get(`${profile} ${row.load}`))
            // Each side is a whole prediction by itself, or nothing where that corner is not there.
            for (const key of ['clock_mhz', 'power_w', 'die_c', 'margin_w'] as const) {
              const [first, second] = row[key]
              if (first !== null) expect(first).toBe(older?.[key])
              if (second !== null) expect(second).toBe(newer?.[key])
            }
          }
        }
      }
      before = now
    }
    const all = await since(folder.path, 'HEAD~9')
    expect(all.profiles.map(({ profile, change }) => [profile, change])).toEqual([['daily', 'changed']])
    expect(all.profiles[0]?.settings).toEqual([
      { key: 'steps 1 to 4 cores', before: '46x', after: '47x' },
      { key: 'voltage core', before: 'needs + 50 mV', after: 'needs + 60 mV' },
      { key: 'room air', before: '20 °C', after: '23 °C' },
    ])
    expect(all.profiles[0]?.expectations).toEqual([
      { text: 'work die <= 30 °C', before: null, after: 'failed' },
      { text: 'work die <= 45 °C', before: 'holds', after: null },
    ])
    expect(all.profiles[0]?.findings.new.map(({ code }) => code)).toContain('expect-failed')
  })

  it('gives pairs of full figures, the same whether the older side is a revision or a folder', async () => {
    using folder = temporaryFolder({ 'bench.detent': bench })
    startRepository(folder.path)
    commitFiles(folder.path, { 'bench.detent': bench })
    mkdirSync(join(folder.path, '.old'))
    writeFileSync(join(folder.path, '.old', 'bench.detent'), bench)
    const older = await predicted(folder.path)
    writeFileSync(join(folder.path, 'bench.detent'), bench.replace('46x', '45x'))
    const newer = await predicted(folder.path)
    const [git, plain] = [await since(folder.path, 'HEAD'), await since(folder.path, './.old')]
    expect(plain.profiles).toEqual(git.profiles)
    expect([git.since, plain.since]).toEqual(['HEAD', './.old'])
    const row = git.profiles[0]?.predicted.find(({ load }) => load === 'work')
    const [was, is] = [older, newer].map(all => all.get('daily work'))
    expect(row).toEqual({
      load: 'work',
      cores: 4,
      air_c: 20,
      humidity_pct: 40,
      clock_mhz: [was?.clock_mhz, is?.clock_mhz],
      power_w: [was?.power_w, is?.power_w],
      die_c: [was?.die_c, is?.die_c],
      margin_w: [was?.margin_w, is?.margin_w],
    })
    // Idle runs at the same ratio as before.
    expect(git.profiles[0]?.predicted.map(({ load }) => load)).toEqual(['work'])
  })

  it('tells in text and for a review, and fails on what is worse', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'bench.detent': bench })
    const calm = await detent(folder.path, ['compare', '--since', 'HEAD', '--fail-on', 'worse'])
    expect(calm).toMatchObject({ code: 0, err: '' })
    expect(calm.out).toMatch(/^Since HEAD \([0-9a-f]{8}\): no profile differs \(1 profile\)\n/)
    writeFileSync(join(folder.path, 'bench.detent'), bench.replace('block-resistance 0.05', 'block-resistance 0.35'))
    const { out, code } = await detent(folder.path, ['compare', '--since', 'HEAD', '--fail-on', 'worse'])
    expect(code).toBe(1)
    expect(out).toMatch(/^Since HEAD \([0-9a-f]{8}\): 1 of 1 profile differs\n/)
    expect(out).toMatch(/^cooler block-resistance +0\.05 K\/W +0\.35 K\/W$/m)
    expect(out).toContain('work die <= 45 °C: held before, fails now.')
    expect(out).toContain('New error expect-failed (bench.detent:')
    expect(await detent(folder.path, ['compare', '--since', 'HEAD'])).toMatchObject({ code: 0 })
    const markdown = await detent(folder.path, ['compare', '--since', 'HEAD', '--output', 'markdown'])
    expect(markdown.out).toMatch(/^# Since HEAD \([0-9a-f]{8}\): 1 of 1 profile differs\n/)
    expect(markdown.out).toContain('\n## daily\n')
    // Where it was worse before, nothing is worse now.
    commitFiles(folder.path, {})
    writeFileSync(join(folder.path, 'bench.detent'), bench)
    expect(await detent(folder.path, ['compare', '--since', 'HEAD', '--fail-on', 'worse'])).toMatchObject({ code: 0 })
  })

  it('names the lines of a course that something is expected of, and an error that is new in it', async () => {
    const courses = 'course stint {\n  start room\n  idle 5 s\n  work 5 s\n  idle 5 s\n}\ncourse spare { idle 5 s }\n'
    const text = `${benchText('  expect course stint plate <= 22 °C\n')}\n${courses}`
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'a.detent': text })
    const write = (edit: (own: string) => string): void => writeFileSync(join(folder.path, 'a.detent'), edit(text))
    write(own =>
      own
        .replace('work 5 s\n  idle 5 s', 'fault fan 0 %\n  work 90 s\n  idle 6 s')
        .replace('spare { idle 5 s', 'spare { idle 9 s'),
    )
    const [profile] = (await since(folder.path, 'HEAD')).profiles
    expect(profile?.settings).toEqual([
      { key: 'course stint work', before: '5 s', after: '90 s' },
      { key: 'course stint idle (2)', before: '5 s', after: '6 s' },
      { key: 'course stint order', before: 'idle, work, idle', after: 'idle, fault fan, work, idle' },
      { key: 'course stint fault fan', before: null, after: '0 %' },
    ])
    expect(profile?.predicted).toEqual([])
    expect(profile?.expectations).toEqual([{ text: 'course stint plate <= 22 °C', before: 'holds', after: 'failed' }])
    write(own => own.replace('spare { idle 5 s', 'spare { idle 20 h; idle 20 h'))
    const worse = await detent(folder.path, ['compare', '--since', 'HEAD', '--fail-on', 'worse'])
    expect(worse.code).toBe(1)
    expect(worse.out).toMatch(/New error course-lines \(a\.detent:\d+\): Too long\./)
    write(own => own.replace('spare { idle 5 s', 'spare { idle 9 s'))
    expect((await since(folder.path, 'HEAD')).profiles).toEqual([])
  })

  it('compares settings, constants and findings of each group of cores', async () => {
    const lines = `${soundSteps}\n  voltage { core needs + 30 mV; core small needs + 40 mV }`
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'a.detent': twoGroups(lines) })
    const edited = twoGroups(
      lines.replace('3 to 4 cores   50x', '3 to 4 cores   48x').replace('small needs + 40', 'small needs - 60'),
    ).replace('0.85 K/W', '0.95 K/W')
    writeFileSync(join(folder.path, 'a.detent'), edited)
    const [profile] = (await since(folder.path, 'HEAD')).profiles
    expect(profile?.settings).toEqual([
      { key: 'steps broad 3 to 4 cores', before: '50x', after: '48x' },
      { key: 'voltage core small', before: 'needs + 40 mV', after: 'needs - 60 mV' },
      { key: 'part group small core-resistance', before: '0.85 K/W', after: '0.95 K/W' },
    ])
    const whole = profile?.predicted.find(({ load }) => load === 'whole')
    expect(whole?.clock_mhz).toEqual([5000, expect.closeTo(4800, 6)])
    expect(profile?.findings.new.map(({ code }) => code)).toContain('voltage-short')
    const { out } = await detent(folder.path, ['compare', '--since', 'HEAD'])
    expect(out).toMatch(/New error voltage-short \(a\.detent:\d+\): small: Voltage \d/)
  })

  it('overlays both sides', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'bench.detent': bench })
    writeFileSync(join(folder.path, 'bench.detent'), bench.replace('46x', '45x'))
    const [plain, same, warm] = [
      await since(folder.path, 'HEAD'),
      await since(folder.path, 'HEAD', '--with', 'steps { 1 to 4 cores 44x }'),
      await since(folder.path, 'HEAD', '--with', 'room den { air 28 °C }'),
    ]
    // With one ratio on both sides nothing differs any more.
    expect(same.profiles).toEqual([])
    const work = ({ profiles }: SinceJson) => profiles[0]?.predicted.find(({ load }) => load === 'work')
    expect([plain, warm].map(one => work(one)?.air_c)).toEqual([20, 28])
    expect(work(warm)?.clock_mhz).toEqual(work(plain)?.clock_mhz)
    for (const output of ['text', 'markdown']) {
      const { out } = await detent(folder.path, [
        'compare',
        '--since',
        'HEAD',
        '--output',
        output,
        '--with',
        'vector -1x',
      ])
      expect(out).toContain('Overlay --with 1: vector -1x')
    }
  })

  it('names profiles whose other settings change nothing', async () => {
    using folder = temporaryFolder({ 'bench.detent': bench })
    mkdirSync(join(folder.path, '.old'))
    writeFileSync(
      join(folder.path, '.old', 'bench.detent'),
      bench.replace('  expect', '  limits { current 400 A }\n  expect'),
    )
    const { out } = await detent(folder.path, ['compare', '--since', './.old'])
    expect(out).toContain('Settings differ, but no prediction, expectation or finding: daily.')
  })

  it('chooses among the profiles, and knows those that are gone', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'bench.detent': bench, 'night.detent': nightFile })
    rmSync(join(folder.path, 'night.detent'))
    writeFileSync(join(folder.path, 'bench.detent'), bench.replace('46x', '45x'))
    const changes = async (...names: string[]): Promise<readonly string[]> =>
      (await since(folder.path, 'HEAD', ...names)).profiles.map(({ profile, change }) => `${profile} ${change}`)
    expect(await changes()).toEqual(['daily changed', 'night gone'])
    expect(await changes('night')).toEqual(['night gone'])
    expect(await changes('daily', '.')).toEqual(['daily changed'])
  })

  it.each([
    [['--since', 'nowhere'], 'There is no revision nowhere in this git repository.'],
    [['--since', '-x'], 'There is no revision -x in this git repository.'],
    [['--since', './nowhere'], './nowhere: there is no such file or folder'],
    [['--since', 'HEAD', 'weekly'], 'There is no profile weekly here, neither now nor at HEAD.'],
    [['--since', 'HEAD', 'daily@HEAD~1'], '`--since` names the revision: write daily, without `@HEAD~1`.'],
    [['--since', 'HEAD', '--all'], '`--all` does not go with `--since`.'],
    [
      ['--since', 'HEAD', '--with', 'room=attic'],
      '--with 1, column 1: there is no room attic in the files asked for or those they use.',
    ],
    [['daily', 'night', '--fail-on', 'worse'], '`--fail-on` goes with `--since`.'],
  ])('refuses %j in one line', async (args, message) => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'bench.detent': bench })
    const { out, err, code } = await detent(folder.path, ['compare', ...args])
    expect({ out, code }).toEqual({ out: '', code: 2 })
    expect(err).toBe(`detent: ${message}\n`)
  })
})

describe('a part with groups of cores', () => {
  const lines = '\n  voltage { core needs + 20 mV }'
  const mix = 'load mix { cores broad 1 to 2; cores small 1 to 2; activity 0.8 }\n'
  const before = twoGroups(`${soundSteps}${lines}`, mix)
  const after = before.replace('1 to 10 cores  40x', '1 to 10 cores  38x').replace('needs + 20 mV', 'needs - 20 mV')

  it('has the clock of each group at work, and its counts apart', async () => {
    using old = temporaryFolder({ 'a.detent': before })
    using now = temporaryFolder({ 'a.detent': after })
    const [profile] = (await since(now.path, old.path)).profiles
    const found = profile?.predicted.filter(({ load }) => load === 'mix').map(({ groups }) => groups)
    expect(found).toEqual(
      [
        [1, 1],
        [1, 2],
        [2, 1],
        [2, 2],
      ].map(([broad, small]) => [
        { group: 'broad', cores: broad, clock_mhz: [expect.closeTo(5300, 9), expect.closeTo(5300, 9)] },
        { group: 'small', cores: small, clock_mhz: [4000, expect.closeTo(3800, 9)] },
      ]),
    )
    const { out } = await detent(now.path, ['compare', '--since', old.path])
    expect(out).toContain('-0.20 GHz of small')
    expect(out).toMatch(/\n\s*mix +2 \/ 2 .* 5\.30 \/ 4\.00 → 3\.80 /)
    expect(out.replace(/\s+/g, ' ')).toMatch(/New error voltage-short \(a\.detent:\d+\): broad: Voltage \d+ mV short/)
  })
})
