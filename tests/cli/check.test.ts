import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { checks } from '../../server/service.ts'
import { temporaryFolder } from '../harness/process.ts'
import { checkFaults } from './contract.ts'
import { benchText, detent } from './helpers.ts'

interface CheckJson {
  readonly findings: readonly Record<string, unknown>[]
  readonly expectations: readonly Record<string, unknown>[]
}

async function checkJson(folder: string, ...args: string[]): Promise<CheckJson> {
  const { out } = await detent(folder, ['check', '--output', 'json', ...args])
  const value = JSON.parse(out) as CheckJson
  expect(checkFaults(value)).toEqual([])
  return value
}

/** A file with one syntax error on its third line, after characters that UTF-8 and UTF-16 count differently. */
const broken = 'detent 1\n# µ 😀\nroom den { air 20 °C; humidity 40,5 % }\n'

describe('check', () => {
  it('ends with 0 and one line that sums up where nothing is wrong', async () => {
    using folder = temporaryFolder({ 'a.detent': benchText('  expect work power <= 200 W\n') })
    const { code, out, err } = await detent(folder.path, ['check', '--fail-on', 'warning'])
    expect(err).toBe('')
    expect(out.trimEnd().split('\n').at(-1)).toMatch(/in 1 file; 1 of 1 expectation holds\.$/)
    expect(code).toBe(0)
  })

  it('says where to begin in a folder without a file', async () => {
    using folder = temporaryFolder({})
    const begin = 'No .detent files here. The README has a first file to copy.\n'
    expect(await detent(folder.path, ['check'])).toMatchObject({ code: 0, out: begin })
    const { out } = await detent(folder.path, ['glance'])
    expect(out.split('first file to copy')).toHaveLength(2)
  })

  it('ends with 1 at an error and prints file:line:column: severity: message [code]', async () => {
    using folder = temporaryFolder({ 'sub/a.detent': broken })
    const { code, out } = await detent(folder.path, ['check'])
    expect(code).toBe(1)
    // `40,5` is the 32nd UTF-16 unit of its line: counted by hand.
    expect(out.split('\n')[0]).toMatch(/^sub\/a\.detent:3:32: error: `40,5` .*\[syntax\]$/)
  })

  it('counts columns in UTF-16 units from 1, the end exclusive', async () => {
    using folder = temporaryFolder({ 'a.detent': 'detent 1\nroom den { note "😀°"; air 20,5 °C; humidity 40 % }\n' })
    const { findings } = await checkJson(folder.path)
    const found = findings.find(finding => finding.code === 'syntax')
    expect(found).toMatchObject({ line: 2, column: 28, endLine: 2, endColumn: 32 })
  })

  it('leaves keys out that do not apply', async () => {
    using folder = temporaryFolder({ 'a.detent': broken })
    const { findings } = await checkJson(folder.path)
    expect(Object.keys(findings[0] ?? {}).sort()).toEqual(
      ['code', 'column', 'endColumn', 'endLine', 'file', 'line', 'message', 'page', 'severity'].sort(),
    )
  })

  it('finds the same whatever the order of files, though a reported file that nobody uses is forgotten', async () => {
    const bench = `${benchText()}\nroom spare { air 20 °C; humidity 40 % }\n`
    const [, profile = ''] = benchText('  expect work holds >= 3.0 GHz for 5 s\n').split(/^(?=profile )/m)
    const named = (name: string, power: number): string =>
      `detent 1\nuse "m.detent"\n${profile.replace(/^profile \S+/, `profile ${name}`).replace('expect', `expect work power <= ${power} W\n  expect`)}`
    const texts = { 'm.detent': bench, 'a.detent': named('first', 1), 'z.detent': named('last', 500) }
    using folder = temporaryFolder(texts)
    const all = await checkJson(folder.path, '.')
    const alone = await Promise.all(Object.keys(texts).map(file => checkJson(folder.path, file)))
    // By itself the bench has a room that nothing uses.
    using elsewhere = temporaryFolder({ 'm.detent': bench })
    const isUnused = ({ code }: Record<string, unknown>): boolean => code === 'unused-name'
    expect((await checkJson(elsewhere.path, '.')).findings.some(isUnused)).toBe(true)
    expect(all.findings.filter(one => one.file !== 'm.detent')).toEqual([
      ...(alone[1]?.findings ?? []),
      ...(alone[2]?.findings ?? []),
    ])
    expect(all.findings.filter(one => one.file === 'm.detent').some(isUnused)).toBe(false)
    expect(all.expectations).toEqual(alone.flatMap(one => one.expectations))
    expect(all.expectations.map(({ profile, holds }) => [profile, holds])).toEqual([
      ['first', false],
      ['first', true],
      ['last', true],
      ['last', true],
    ])
  })

  it('takes files and folders, each file once, and skips packages and dot folders', async () => {
    using folder = temporaryFolder({
      'b.detent': broken,
      'a/deep/c.detent': broken,
      'node_modules/x/d.detent': broken,
      '.hidden/e.detent': broken,
      'a/other.txt': broken,
    })
    const all = await checkJson(folder.path)
    expect(all.findings.map(finding => finding.file)).toEqual(['a/deep/c.detent', 'b.detent'])
    const twice = await checkJson(folder.path, 'b.detent', './b.detent', '.')
    expect(twice.findings).toEqual(all.findings)
    const named = await checkJson(folder.path, 'a/other.txt')
    expect(named.findings.map(finding => finding.file)).toEqual(['a/other.txt'])
  })

  it('shows paths from the folder of the call, outside of it too', async () => {
    using folder = temporaryFolder({ 'a.detent': broken, 'here/x.txt': '' })
    const { findings } = await checkJson(join(folder.path, 'here'), '..')
    expect(findings.map(finding => finding.file)).toEqual(['../a.detent'])
  })

  it('finds nothing wrong with a folder that holds no profiles', async () => {
    using folder = temporaryFolder({ 'x.txt': '' })
    expect(await detent(folder.path, ['check'])).toMatchObject({ code: 0, err: '' })
    expect(await checkJson(folder.path)).toMatchObject({ findings: [], expectations: [] })
  })

  it('names a used file that does not read, though only its user is checked', async () => {
    const [base = '', profile = ''] = benchText('  expect work holds >= 4.5 GHz\n').split(/^(?=profile )/m)
    const files = (text: string) => ({ 'base.detent': text, 'a.detent': `detent 1\nuse "base.detent"\n\n${profile}` })
    const lineOf = (text: string): number => text.split('\n').findIndex(line => line.includes('swiching')) + 1
    const slip = base.replace('switching 2 nF', 'swiching 2 nF')
    expect(lineOf(slip)).toBeGreaterThan(1)
    using folder = temporaryFolder(files(slip))
    const one = await detent(folder.path, ['check', 'a.detent'])
    const place = `but what it uses does not read (line ${lineOf(slip)} of base.detent)`
    expect(one.out).toBe(`Nothing found in 1 file, ${place}; 0 of 1 expectation holds, 1 undecided.\n`)
    expect(one.code).toBe(0)
    const json = JSON.parse((await detent(folder.path, ['check', 'a.detent', '--output', 'json'])).out)
    expect(json).toMatchObject({ findings: [], unread: [{ file: 'base.detent', lines: [lineOf(slip)] }] })
    expect(checkFaults(json)).toEqual([])
    const log = JSON.parse((await detent(folder.path, ['check', 'a.detent', '--output', 'sarif'])).out)
    expect(log.runs[0].results).toEqual([])
    expect(log.runs[0].invocations).toEqual([
      {
        executionSuccessful: true,
        toolExecutionNotifications: [
          {
            level: 'warning',
            message: { text: expect.stringContaining('does not read') },
            locations: [
              { physicalLocation: { artifactLocation: { uri: 'base.detent' }, region: { startLine: lineOf(slip) } } },
            ],
          },
        ],
      },
    ])
    const junit = (await detent(folder.path, ['check', 'a.detent', '--output', 'junit'])).out
    const suite = '<testsuite name="base.detent" tests="0" failures="0" errors="0" skipped="0">'
    expect(junit.slice(junit.indexOf(suite))).toMatch(
      new RegExp(`^${suite}\\s*<system-err>base\\.detent:${lineOf(slip)}: [^<]*does not read[^<]*</system-err>`),
    )
    // Asked for, it has findings of its own.
    const both = await detent(folder.path, ['check'])
    expect(both.code).toBe(1)
    expect(both.out).toMatch(/^base\.detent:\d+:\d+: error: .*swiching.* \[unknown-word\]$/m)
    expect(both.out).not.toContain('what they use')
    expect((await detent(folder.path, ['check', '--output', 'junit'])).out).not.toContain('system-err')
    using sound = temporaryFolder(files(base))
    expect((await detent(sound.path, ['check', 'a.detent'])).out).toBe(
      'Nothing found in 1 file; 1 of 1 expectation holds.\n',
    )
    expect(await checkJson(sound.path, 'a.detent')).not.toHaveProperty('unread')
    expect((await detent(sound.path, ['check', 'a.detent', '--output', 'sarif'])).out).not.toContain('invocations')
  })

  it('judges expectations and lists them by file and line', async () => {
    const lines = '  expect work power <= 20 W\n  expect work holds >= 4.5 GHz\n'
    using folder = temporaryFolder({ 'z.detent': benchText(lines), 'a.detent': benchText(lines) })
    const { expectations } = await checkJson(folder.path)
    expect(expectations.map(({ file, text, holds }) => [file, text, holds])).toEqual([
      ['a.detent', 'work power <= 20 W', false],
      ['a.detent', 'work holds >= 4.5 GHz', true],
      ['z.detent', 'work power <= 20 W', false],
      ['z.detent', 'work holds >= 4.5 GHz', true],
    ])
    const wanted = benchText(lines).split('\n').indexOf('  expect work power <= 20 W') + 1
    expect(expectations[0]).toMatchObject({ line: wanted, profile: 'daily', unit: 'W' })
  })

  it('finds an inherited expectation where it is written', async () => {
    using folder = temporaryFolder({
      'base.detent': benchText('  expect work power <= 200 W\n'),
      'own.detent': 'detent 1\nuse "base.detent"\nprofile night based-on daily {\n  vector -1x\n}\n',
    })
    const { expectations } = await checkJson(folder.path, 'own.detent')
    expect(expectations).toHaveLength(1)
    expect(expectations[0]).toMatchObject({ file: 'base.detent', profile: 'night' })
  })

  it('fails from the level named on, and takes other severities', async () => {
    using folder = temporaryFolder({ 'a.detent': broken })
    const exit = async (...args: string[]): Promise<number> => (await detent(folder.path, ['check', ...args])).code
    expect(await exit('--severity', 'syntax=hint')).toBe(0)
    expect(await exit('--severity', 'syntax=hint', '--fail-on', 'hint')).toBe(1)
    expect(await exit('--severity', 'syntax=warning', '--fail-on', 'warning')).toBe(1)
    expect(await exit('--severity', 'syntax=warning', '--fail-on', 'error')).toBe(0)
    expect(await exit('--severity=syntax=off', '--fail-on', 'information')).toBe(0)
    const { findings } = await checkJson(folder.path, '--severity', 'syntax=off')
    expect(findings.filter(finding => finding.code === 'syntax')).toEqual([])
  })

  it('finds names used by a file beside the one asked for', async () => {
    using folder = temporaryFolder({
      'bench.detent': 'detent 1\nroom den { air 20 °C; humidity 40 % }\n',
      'own.detent': 'detent 1\nuse "bench.detent"\n',
    })
    const { findings } = await checkJson(folder.path, 'bench.detent')
    expect(findings.filter(finding => finding.code === 'unused-name')).toEqual([])
  })

  it('colours for a person only, and not where NO_COLOR is set', async () => {
    using folder = temporaryFolder({ 'a.detent': broken })
    const out = async (terminal: boolean, env: Record<string, string> = {}): Promise<string> =>
      (await detent(folder.path, ['check'], { terminal, env })).out
    expect(await out(true)).toContain('\u001b[31merror')
    expect(await out(false)).not.toContain('\u001b')
    expect(await out(true, { NO_COLOR: '1' })).not.toContain('\u001b')
  })
})

describe('check --output sarif', () => {
  interface Result {
    readonly ruleId: string
    readonly ruleIndex: number
    readonly level: string
    readonly message: { readonly text: string }
    readonly locations: readonly {
      readonly physicalLocation: {
        readonly artifactLocation: { readonly uri: string }
        readonly region: Readonly<Record<string, number>>
      }
    }[]
    readonly partialFingerprints: Readonly<Record<string, string>>
  }
  interface Log {
    readonly version: string
    readonly runs: readonly {
      readonly columnKind: string
      readonly tool: { readonly driver: { readonly name: string; readonly rules: readonly Record<string, unknown>[] } }
      readonly results: readonly Result[]
    }[]
  }
  const sarif = async (folder: string): Promise<Log> =>
    JSON.parse((await detent(folder, ['check', '--output', 'sarif'])).out) as Log

  it('has what the standard requires of a log, a run, a rule and a result', async () => {
    using folder = temporaryFolder({ 'with space/ä.detent': broken })
    const log = await sarif(folder.path)
    expect(log.version).toBe('2.1.0')
    const run = log.runs[0]!
    expect(run.columnKind).toBe('utf16CodeUnits')
    expect(run.tool.driver.name).toBe('detent')
    expect(run.tool.driver.rules.map(rule => rule.id)).toEqual(checks.map(check => check.code))
    for (const rule of run.tool.driver.rules) {
      expect((rule.help as { text: string }).text.length).toBeGreaterThan(20)
      expect((rule.shortDescription as { text: string }).text).not.toBe('')
    }
    const result = run.results.find(one => one.ruleId === 'syntax')!
    expect(run.tool.driver.rules[result.ruleIndex]?.id).toBe('syntax')
    expect(result.level).toBe('error')
    expect(result.message.text).toContain('40,5')
    const { artifactLocation, region } = result.locations[0]!.physicalLocation
    expect(artifactLocation.uri).toBe('with%20space/%C3%A4.detent')
    expect(region).toEqual({ startLine: 3, startColumn: 32, endLine: 3, endColumn: 36 })
  })

  it('knows a finding again after its line moved, and tells equal ones apart', async () => {
    const prints = async (text: string): Promise<string[]> => {
      using folder = temporaryFolder({ 'a.detent': text })
      const { results } = (await sarif(folder.path)).runs[0]!
      return results.filter(one => one.ruleId === 'syntax').flatMap(one => Object.values(one.partialFingerprints))
    }
    const one = await prints(broken)
    expect(one).toHaveLength(1)
    expect(await prints(broken.replace('# µ', '\n\n# µ'))).toEqual(one)
    const two = await prints(broken + broken.split('\n')[2])
    expect(new Set(two).size).toBe(2)
    expect(two[0]).toBe(one[0])
  })
})

describe('check --output junit', () => {
  /** Whether tags nest and every ampersand begins an entity; enough XML for what is written here. */
  function isWellFormed(xml: string): boolean {
    const open: string[] = []
    const body = xml.replace(/^<\?xml[^?]*\?>\s*/, '')
    for (const [, close, name = '', attributes = '', alone] of body.matchAll(
      /<(\/?)([a-z-]+)((?:\s[a-z]+="[^"<]*")*)\s*(\/?)>/g,
    )) {
      if (/&(?!(?:lt|gt|amp|quot);)/.test(attributes)) return false
      if (close === '/') {
        if (open.pop() !== name) return false
      } else if (alone !== '/') open.push(name)
    }
    const rest = body.replace(/<\/?[a-z-]+(?:\s[a-z]+="[^"<]*")*\s*\/?>/g, '')
    return open.length === 0 && !rest.includes('<') && !/&(?!(?:lt|gt|amp|quot);)/.test(rest)
  }

  it('has one case for each expectation, failed and undecided ones told apart', async () => {
    const lines =
      '  expect work power <= 20 W\n  expect work holds >= 4.5 GHz\n  expect work drive-power <= 5 W\n  note "<&"\n'
    using folder = temporaryFolder({ 'a&b.detent': benchText(lines) })
    const { out } = await detent(folder.path, ['check', '--output', 'junit'])
    expect(isWellFormed(out)).toBe(true)
    expect(out.match(/<testcase /g)).toHaveLength(3)
    expect(out).toMatch(/<testsuites name="detent" tests="3" failures="1" errors="0" skipped="1">/)
    expect(out).toContain('<testsuite name="a&amp;b.detent" tests="3"')
    expect(out).toMatch(
      /name="work power &lt;= 20 W"[^>]*>\s*<failure message="predicted [\d.]+ W" type="expect-failed"\/>/,
    )
    expect(out).toMatch(/name="work holds >= 4.5 GHz"[^>]*\/>/)
    expect(out).toMatch(/name="work drive-power &lt;= 5 W"[^>]*>\s*<skipped message="[^"]+"\/>/)
  })

  it('tells what else stands in a file', async () => {
    using folder = temporaryFolder({ 'a.detent': broken })
    const { out, code } = await detent(folder.path, ['check', '--output', 'junit'])
    expect(code).toBe(1)
    expect(isWellFormed(out)).toBe(true)
    expect(out).toContain('[syntax]')
  })
})

describe('a call that cannot be used', () => {
  it.each([
    [['check', 'nowhere.detent'], /^detent: nowhere\.detent: there is no such file or folder\n$/],
    [['check', '--outptu', 'json'], /^detent: unknown option '--outptu'.*\n$/],
    [['check', '--output', 'xml'], /^detent: option '--output <format>' argument 'xml' is invalid.*\n$/],
    [['check', '--fail-on', 'never'], /^detent: option '--fail-on <level>' argument 'never' is invalid.*\n$/],
    [['check', '--severity', 'no-such=hint'], /^detent: .*There is no check `no-such`.*\n$/],
    [['check', '--severity', 'syntax=loud'], /^detent: .*The level is one of error, warning.*\n$/],
    [['check', '--severity', 'syntax'], /^detent: .*code=level.*\n$/],
    [['chek'], /^detent: unknown command 'chek'.*\n$/],
    [[], /^detent: name a sub-command.*\n$/],
    [['predict', '--output', 'sarif'], /^detent: option '--output <format>'.*\n$/],
    [['predict', 'nowhere'], /^detent: There is no profile nowhere here\.\n$/],
    [['predict', 'nowhere.detent'], /^detent: nowhere\.detent: there is no such file or folder\n$/],
    [['check', '-', 'x'], /^detent: `-` means standard input.*\n$/],
    [['format', 'nowhere'], /^detent: nowhere: there is no such file or folder\n$/],
    [['format', '-', 'x'], /^detent: `-` means standard input.*\n$/],
    [['language-server'], /^detent: language-server speaks over --stdio only.*\n$/],
  ])('ends %j with 2 and one line', async (args, line) => {
    using folder = temporaryFolder({ 'x.txt': '' })
    const { code, out, err } = await detent(folder.path, args)
    expect(err).toMatch(line)
    expect(err.split('\n')).toHaveLength(2)
    expect({ code, out }).toEqual({ code: 2, out: '' })
  })

  it('prints a stack only where it is asked for', async () => {
    using folder = temporaryFolder({})
    const quiet = await detent(folder.path, ['check', 'nowhere'])
    expect(quiet.err).not.toContain('    at ')
    const loud = await detent(folder.path, ['check', 'nowhere'], { env: { DETENT_DEBUG: '1' } })
    expect(loud.err).toContain('    at ')
  })

  it('takes a folder with the ending of a file for a folder', async () => {
    using folder = temporaryFolder({})
    mkdirSync(join(folder.path, 'x.detent'))
    writeFileSync(join(folder.path, 'x.detent', 'y.detent'), broken)
    const { findings } = await checkJson(folder.path)
    expect(findings.map(finding => finding.file)).toEqual(['x.detent/y.detent'])
  })
})

describe('help', () => {
  it.each([['check'], ['predict'], ['format'], ['language-server']])(
    'of %s has examples and ends with 0',
    async name => {
      using folder = temporaryFolder({})
      const { code, out, err } = await detent(folder.path, [name, '--help'])
      expect(out).toMatch(new RegExp(`Examples:\\n {2}detent ${name}`))
      expect({ code, err }).toEqual({ code: 0, err: '' })
    },
  )

  it('of the whole command names the sub-commands; the version is the package’s', async () => {
    using folder = temporaryFolder({})
    const { code, out } = await detent(folder.path, ['--help'])
    expect(code).toBe(0)
    for (const name of ['check', 'predict', 'format', 'language-server']) expect(out).toContain(`  ${name} `)
    expect((await detent(folder.path, ['--version'])).out).toMatch(/^\d+\.\d+\.\d+\n$/)
  })
})

describe('check -', () => {
  it('reads standard input as if it stood in this folder', async () => {
    const [base = '', profile = ''] = benchText().split(/^(?=profile )/m)
    using folder = temporaryFolder({ 'base.detent': base })
    const text = `detent 1\nuse "base.detent"\n${profile}`
    const sound = await detent(folder.path, ['check', '-'], { input: text })
    expect(sound).toEqual({ code: 0, out: 'Nothing found in 1 file.\n', err: '' })
    const slip = await detent(folder.path, ['check', '-'], { input: text.replace('room den', 'room attic') })
    expect(slip.code).toBe(1)
    expect(slip.out).toMatch(/^standard input:\d+:\d+: error: .*attic.* \[unknown-name\]$/m)
    const json = await detent(folder.path, ['check', '--output', 'json', '-'], { input: text.replace('46x', '46y') })
    expect(JSON.parse(json.out).findings[0].file).toBe('standard input')
  })

  it('refuses bytes that are no text, in one line', async () => {
    using folder = temporaryFolder({})
    const { code, err } = await detent(folder.path, ['check', '-'], { input: new Uint8Array([0x64, 0xff]) })
    expect(code).toBe(2)
    expect(err).toMatch(/^detent: standard input:1:2: not valid UTF-8 from here on.*\n$/)
  })
})
