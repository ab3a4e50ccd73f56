import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { benchText, detent } from './helpers.ts'

/** `--with` takes statements of the language: what they come to, and where trouble with them is shown. */

const bench = benchText('  voltage { core needs + 50 mV }\n  expect work die <= 45 °C\n')

describe('--with and a statement', () => {
  it('gives what the same statement in the file gives, and says at the top that it does not stand there', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const call = ['predict', '--output', 'json']
    const asIf = await detent(folder.path, [
      ...call,
      '--with',
      'steps { 3 to 4 cores 44x }',
      '--with',
      'room den { air 30 °C }',
    ])
    const text = await detent(folder.path, ['predict', '--with', 'steps { 3 to 4 cores 44x }'])
    expect(text.out).toMatch(/^Overlay --with 1: steps \{ 3 to 4 cores 44x \}\nprofile daily {2}a\.detent:/)
    const other = bench
      .replace('1 to 4 cores   46x', '1 to 2 cores 46x\n    3 to 4 cores 44x')
      .replace('air 20 °C', 'air 30 °C')
    writeFileSync(join(folder.path, 'a.detent'), other)
    const written = await detent(folder.path, call)
    expect(asIf).toEqual(written)
    expect(asIf.code).toBe(0)
  })

  it('lays lines over a course, for predict, check and the expectations of it', async () => {
    const courses = '\ncourse stint {\n  idle 10 s\n  work 20 s\n}\n'
    const text = benchText('  expect course stint die <= 30 °C\n') + courses
    using folder = temporaryFolder({ 'a.detent': text })
    const asIf = ['--with', 'course stint { fault fan 0 %; work 2 min }']
    const both = async () => [
      await detent(folder.path, ['predict', '--course', 'stint', '--output', 'json', ...asIf]),
      await detent(folder.path, ['check', '--output', 'json', ...asIf]),
    ]
    const [laid, judged] = await both()
    const { courses: found } = JSON.parse(laid?.out ?? '') as { courses: readonly { steps: readonly object[] }[] }
    // Lines are those of where each stands: of the argument, or of the file.
    expect(found[0]?.steps).toMatchObject([
      { line: text.split('\n').indexOf('  idle 10 s') + 1, load: 'idle', start_s: 0, end_s: 10 },
      { line: 1, load: 'work', start_s: 10, end_s: 130 },
    ])
    const shown = await detent(folder.path, ['predict', '--course', 'stint', ...asIf])
    expect(shown.out).toMatch(/^Overlay --with 1: course stint \{ fault fan 0 %; work 2 min \}\n/)
    expect(shown.out).toContain('0:10 fan at 0 %')
    writeFileSync(join(folder.path, 'a.detent'), text.replace('  work 20 s', '  fault fan 0 %; work 2 min'))
    const unlined = (out = ''): unknown =>
      JSON.parse(out.replace(/"(?:line|endLine|column|endColumn)":\d+/g, '"line":0'))
    const [written, checked] = [
      await detent(folder.path, ['predict', '--course', 'stint', '--output', 'json']),
      await detent(folder.path, ['check', '--output', 'json']),
    ]
    expect(unlined(laid?.out)).toEqual(unlined(written.out))
    expect(unlined(judged?.out)).toEqual(unlined(checked.out))
    expect([laid?.code, judged?.code]).toEqual([0, 1])
  })

  it('is checked where it stands, in the argument', async () => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const args = ['check', '--with', 'vector -1x', '--with', 'expect work die <= 20 °C']
    const { out, code } = await detent(folder.path, args)
    expect(code).toBe(1)
    expect(out).toMatch(/^Overlay --with 1: vector -1x\nOverlay --with 2: expect work die <= 20 °C\n/)
    expect(out).toMatch(/^--with 2:1:1: error: .*\[expect-failed\]$/m)
    const json = JSON.parse((await detent(folder.path, [...args, '--output', 'json'])).out) as {
      findings: readonly Record<string, unknown>[]
      expectations: readonly Record<string, unknown>[]
    }
    expect(json.findings.find(({ code }) => code === 'expect-failed')).toMatchObject({
      file: '--with 2',
      line: 1,
      column: 1,
      endLine: 1,
    })
    expect(json.expectations).toMatchObject([{ file: '--with 2', line: 1, text: 'work die <= 20 °C', holds: false }])
  })

  it('is found fault with once, however many profiles it is laid over', async () => {
    using folder = temporaryFolder({ 'a.detent': `${bench}\nprofile other based-on daily {\n  vector -1x\n}\n` })
    const { out } = await detent(folder.path, ['check', '--with', 'expect course nowhere die <= 95 °C'])
    expect(out.split('\n').filter(line => line.includes('[unknown-name]'))).toHaveLength(1)
    expect(out).toMatch(/^--with 1:1:15: error: No course is called `nowhere`/m)
  })

  it('leaves findings of the file at their lines', async () => {
    const text = bench.replace('die <= 45', 'die <= 20')
    using folder = temporaryFolder({ 'a.detent': text })
    const places = async (...args: string[]): Promise<readonly string[]> => {
      const { out } = await detent(folder.path, ['check', ...args])
      return out
        .split('\n')
        .filter(line => line.includes('[expect-failed]'))
        .map(line => line.split(': ')[0] ?? '')
    }
    const plain = await places()
    expect(plain).toHaveLength(1)
    expect(await places('--with', 'room den { air 21 °C }', '--with', 'limits { current 200 A }')).toEqual(plain)
  })

  it('leaves every output the lines of the file as it is on disk', async () => {
    // Behind what makes the overlaid text longer.
    const text = `${bench}\nprofile other based-on daily {\n  vector -1x\n  expect work die <= 21 °C\n}\n`
    using folder = temporaryFolder({ 'a.detent': text })
    const longer = ['--with', 'limits {\n  current 200 A\n}\n', '--with', 'room den {\n  air 21 °C\n}']
    const lineOf = (mark: string): number => text.slice(0, text.indexOf(mark)).split('\n').length
    const checked = await detent(folder.path, ['check', ...longer, '--output', 'json'])
    const { findings } = JSON.parse(checked.out) as {
      findings: readonly { code: string; file: string; line: number }[]
    }
    const failed = findings.filter(({ code }) => code === 'expect-failed')
    expect(failed).toMatchObject([{ file: 'a.detent', line: lineOf('  expect work die <= 21') }])
    const predicted = await detent(folder.path, ['predict', ...longer])
    expect(predicted.out).toContain(`profile other  a.detent:${lineOf('profile other')}\n`)
    const named = await detent(folder.path, ['predict', 'other', ...longer])
    expect(named.out).toContain(`profile other  a.detent:${lineOf('profile other')}\n`)
    const report = await detent(folder.path, ['report', '--output', 'markdown', ...longer])
    expect(report.out).toMatch(
      new RegExp(`expect work die <= 21 °C +# other, line ${lineOf('  expect work die <= 21')}\n`),
    )
    expect(report.out).toMatch(/current 200 A +# daily, --with 1\n/)
    expect(report.out).toContain(`cooler tower: a.detent, line ${lineOf('cooler tower kind')}`)
  })

  it('is part of comparison and report', async () => {
    using folder = temporaryFolder({ 'a.detent': `${bench}\nprofile other based-on daily {\n  vector -1x\n}\n` })
    const statement = 'steps { 1 to 4 cores 44x }'
    const compared = await detent(folder.path, ['compare', 'daily', 'other', '--with', statement])
    expect(compared).toMatchObject({ code: 0, err: '' })
    expect(compared.out).toContain(`Overlay --with 1: ${statement}`)
    expect(compared.out).toMatch(/^work +4 +daily +4400 /m)
    const report = await detent(folder.path, [
      'report',
      '--output',
      'markdown',
      '--with',
      statement,
      '--with',
      'room=den',
    ])
    expect(report).toMatchObject({ code: 0, err: '' })
    expect(report.out).toContain('Overlay --with 1: steps')
    expect(report.out).toContain('4400 MHz throughout')
    expect(report.out).not.toContain('4600')
  })

  it.each([
    [['predict', '--with', 'limits { die 95 }'], '--with 1, column 14: `95` has no unit'],
    [
      ['check', '--with', 'vector -1x', '--with', 'room=attic'],
      '--with 2, column 1: there is no room attic in the files',
    ],
    [['predict', '--course', 'stint', '--with', 'course stint { work 90 h }'], '--with 1, column 21: '],
    [['predict', '--course', 'stint', '--with', 'course stint'], '--with 1, column 1: A course needs its block'],
    [['report', '--with', 'profile x { }'], '--with 1, column 1: `profile` cannot be overlaid'],
    [
      ['predict', '--with', 'colour=red'],
      '--with 1: write kind=name, the kind one of part, cooler, room, board, or a statement',
    ],
    [['predict', '--runs', '--with', 'vector -1x'], '--runs takes no statements of --with'],
  ])('is refused in one line: %j', async (args, message) => {
    using folder = temporaryFolder({ 'a.detent': bench })
    const { out, err, code } = await detent(folder.path, args)
    expect({ out, code }).toEqual({ out: '', code: 2 })
    expect(err).toMatch(/^detent: .*\n$/)
    expect(err).toContain(message)
  })
})
