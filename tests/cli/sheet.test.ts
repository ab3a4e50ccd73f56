import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { runDetent, temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { benchText, detent } from './helpers.ts'

interface SheetJson {
  readonly [key: string]: unknown
  readonly from: string | null
  readonly entries: readonly (Readonly<Record<string, unknown>> & {
    readonly setting: string
    readonly enter: string
  })[]
  readonly unchanged: number
  readonly gone: readonly Readonly<Record<string, unknown>>[]
}

async function json(folder: string, ...args: string[]): Promise<SheetJson> {
  const { out, code, err } = await detent(folder, ['sheet', ...args, '--output', 'json'])
  expect(err).toBe('')
  expect(code).toBe(0)
  return JSON.parse(out) as SheetJson
}

const brief = ({ entries }: SheetJson): string[] =>
  entries.map(({ setting, row, enter, before }) =>
    [setting, row, enter, ...(before === null ? [] : [before])].join(' '),
  )

/** `daily` with enough voltage, so that nothing is found. */
const daily = benchText('  voltage { core needs + 50 mV }\n')
const bench = daily.slice(0, daily.indexOf('profile daily'))
const profile = (lines: string): string =>
  `detent 1\nuse "bench.detent"\n\n${daily.slice(daily.indexOf('profile daily')).replace('  voltage', `${lines}  voltage`)}`

describe('detent sheet', () => {
  it('prints a table for each page, with a box and a place to read back', async () => {
    using folder = temporaryFolder({ 'a.detent': daily })
    const { out, code } = await detent(folder.path, ['sheet', 'daily'])
    expect(code).toBe(0)
    expect(out).toMatch(/^Entry sheet: daily {2}a\.detent:\d+\n/)
    expect(out).toContain("Not covered by the board's menu\n")
    expect(out).toMatch(/^\[ \] +1 +steps +1 core +46x +_+$/m)
    expect(out).toMatch(/Caution: The values are yours\. The limits of the makers/)
  })

  it('gives JSON whose keys are always there', async () => {
    using folder = temporaryFolder({ 'a.detent': daily })
    const sheet = await json(folder.path, 'daily')
    expect(Object.keys(sheet)).toEqual(
      ['version', 'file', 'profile', 'part', 'cooler', 'room', 'board', 'from', 'entries', 'unchanged', 'gone'].concat([
        'left_out',
        'untouched',
        'facts',
        'cautions',
        'errors',
        'incomplete',
      ]),
    )
    const keys = ['number', 'covered', 'page', 'field', 'setting', 'row', 'asked', 'enter', 'asked_value'].concat([
      'enter_value',
      'unit',
      'rounding',
      'notes',
      'before',
    ])
    for (const entry of sheet.entries) expect(Object.keys(entry)).toEqual(keys)
    expect(sheet).toMatchObject({ version: 1, file: 'a.detent', profile: 'daily', board: null, from: null })
    // 1.000 V at 40x and 1.200 V at 50x were measured; 46x is six tenths of the way, and 50 mV more are asked for.
    expect(brief(sheet)).toEqual([
      'steps 1 core 46x',
      'steps 2 cores 46x',
      'steps 3 cores 46x',
      'steps 4 cores 46x',
      'core-voltage 46x 1.170 V',
    ])
    const { out } = await detent(folder.path, ['sheet', '--help'])
    for (const key of [...Object.keys(sheet), ...keys]) expect(out, key).toMatch(new RegExp(`\\b${key}\\b`))
  })

  it('gives a page to print that loads nothing, and Markdown', async () => {
    using folder = temporaryFolder({ 'a.detent': daily })
    const html = (await detent(folder.path, ['sheet', 'daily', '--output', 'html'])).out
    expect(html).toMatch(/^<!doctype html>[\s\S]*<\/html>\n$/)
    expect(html).toContain('@page')
    expect(html).not.toMatch(/<script|<link|<img|https?:|url\(/)
    const markdown = (await detent(folder.path, ['sheet', 'daily', '--output', 'markdown'])).out
    expect(markdown).toMatch(/^# Entry sheet: daily\n/)
  })

  it('goes to 1 where the profile has an error, and says so first', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  voltage { core fixed 1.60 V }\n') })
    const { out, code } = await detent(folder.path, ['sheet', 'daily'])
    expect(code).toBe(1)
    expect(out).toMatch(/Fix it before you enter this/)
    expect(out).toContain('[voltage-range]')
  })

  it('takes a profile of a file that the named file uses', async () => {
    using folder = temporaryFolder({ 'a.detent': daily, 'sub/b.detent': 'detent 1\nuse "../a.detent"\n' })
    // The folder of what is named does not have it, unless the person says so.
    expect((await detent(folder.path, ['sheet', 'daily', 'sub/b.detent'])).code).toBe(2)
    expect((await detent(folder.path, ['sheet', 'daily', 'sub/b.detent', '--allow-outside'])).code).toBe(0)
    expect((await detent(folder.path, ['sheet', 'daily', 'sub/b.detent', 'a.detent'])).code).toBe(0)
  })

  it.each([
    [['sheet', 'dialy'], 'There is no profile dialy here; did you mean daily?'],
    [['sheet', 'daily', '--from', 'x'], 'There is no profile x here'],
    [['sheet', 'daily', '--from', 'daily', '--from-git', 'HEAD'], 'cannot be used with'],
    [['sheet', 'daily', 'nowhere'], 'there is no such file'],
    [['sheet'], "missing required argument 'profile'"],
    [['sheet', 'daily', '--output', 'pdf'], 'Allowed choices are'],
  ])('refuses %j in one line', async (args, message) => {
    using folder = temporaryFolder({ 'a.detent': daily })
    const { code, err, out } = await detent(folder.path, args)
    expect({ code, out }).toEqual({ code: 2, out: '' })
    expect(err.trim().split('\n')).toHaveLength(1)
    expect(err).toContain(message)
  })

  it('refuses a name that two files have', async () => {
    using folder = temporaryFolder({ 'a.detent': daily, 'b.detent': daily })
    const { code, err } = await detent(folder.path, ['sheet', 'daily'])
    expect(code).toBe(2)
    expect(err).toBe('detent: There is more than one profile daily: a.detent, b.detent. Name the file.\n')
  })
})

describe('detent sheet --from', () => {
  it('has what differs from another profile', async () => {
    using folder = temporaryFolder({
      'a.detent': `${daily}\nprofile night based-on daily {\n  steps { 1 to 4 cores 44x }\n  limits { current 90 A }\n}\n`,
    })
    const sheet = await json(folder.path, 'night', '--from', 'daily')
    expect(sheet.from).toBe('daily')
    expect(brief(sheet)).toEqual([
      'steps 1 core 44x 46x',
      'steps 2 cores 44x 46x',
      'steps 3 cores 44x 46x',
      'steps 4 cores 44x 46x',
      'core-voltage 44x 1.130 V',
      'current  90 A',
    ])
    expect(sheet.gone).toEqual([
      { replaced: true, setting: 'core-voltage', row: '46x', before: '1.170 V', page: null, field: null },
    ])
    expect(sheet.unchanged).toBe(0)
  })
})

describe('detent sheet --from-git', () => {
  it('has what has changed since, in the profile and in files that it uses', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    const first = commitFiles(folder.path, {
      'bench.detent': bench,
      'p/a.detent': profile('').replace('bench.', '../bench.'),
    })
    commitFiles(folder.path, { 'p/a.detent': profile('  vector -1x\n').replace('bench.', '../bench.') })
    // Not committed, and in the bench: the voltage follows from it.
    writeFileSync(join(folder.path, 'bench.detent'), bench.replace('50x 1.200 V', '50x 1.250 V'))
    const since = await json(folder.path, 'daily', '--from-git', first)
    expect(since.from).toBe(`daily@${first}`)
    expect(brief(since)).toEqual(['vector  -1x', 'core-voltage 46x 1.200 V 1.170 V', 'core-voltage 45x 1.175 V'])
    expect(since.unchanged).toBe(4)
    // From within a folder of the repository, by a name that git knows.
    const inside = await json(join(folder.path, 'p'), 'daily', '--allow-outside', '--from-git', 'HEAD')
    expect(brief(inside)).toEqual(['core-voltage 46x 1.200 V 1.170 V', 'core-voltage 45x 1.175 V 1.150 V'])
  })

  it('finds a profile that stood in another file', async () => {
    using folder = temporaryFolder({})
    startRepository(folder.path)
    commitFiles(folder.path, { 'old.detent': daily })
    commitFiles(folder.path, { 'old.detent': null, 'new/with space.detent': daily.replace('46x', '45x') })
    const sheet = await json(folder.path, 'daily', '--from-git', 'HEAD~1')
    expect(brief(sheet)[0]).toBe('steps 1 core 45x 46x')
  })

  it('says in one line what is not there', async () => {
    using folder = temporaryFolder({ 'outside/a.detent': daily })
    const outside = await detent(join(folder.path, 'outside'), ['sheet', 'daily', '--from-git', 'HEAD'])
    expect(outside).toMatchObject({ code: 2, out: '' })
    expect(outside.err).toMatch(/^detent: .* is in no git repository\.\n$/)
    mkdirSync(join(folder.path, 'inside'))
    startRepository(join(folder.path, 'inside'))
    commitFiles(join(folder.path, 'inside'), { 'b.detent': bench })
    writeFileSync(join(folder.path, 'inside/a.detent'), daily)
    const call = async (revision: string): Promise<string> =>
      (await detent(join(folder.path, 'inside'), ['sheet', 'daily', 'a.detent', '--from-git', revision])).err
    expect(await call('no-such')).toBe('detent: There is no revision no-such in this git repository.\n')
    expect(await call('--help')).toMatch(/^detent: .*no revision --help|argument missing/)
    expect(await call('HEAD; true')).toBe('detent: There is no revision HEAD; true in this git repository.\n')
    expect(await call('HEAD')).toBe('detent: There is no profile daily at the revision HEAD.\n')
  })

  it('says so where git itself is not there', async () => {
    using folder = temporaryFolder({ 'a.detent': daily })
    const before = process.env.PATH
    process.env.PATH = folder.path
    try {
      const { code, stderr } = runDetent(folder.path, ['sheet', 'daily', '--from-git', 'HEAD'])
      expect({ code, stderr }).toEqual({
        code: 2,
        stderr: 'detent: git is not there: an older revision needs it on the PATH.\n',
      })
    } finally {
      process.env.PATH = before
    }
  })
})
