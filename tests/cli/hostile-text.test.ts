import { describe, expect, it } from 'vitest'
import { temporaryFolder } from '../harness/process.ts'
import { commitFiles, startRepository } from '../harness/repository.ts'
import { benchText, detent } from './helpers.ts'

/** What a terminal obeys, and what turns the direction of a text, reaches no output of the command as it is. */

const sequences = '\u001b[31m\u001b]0;title\u0007\u009b2J\u007f\u202egnp\u202c\u2066x\u2069'
const quoted = `"evil ${sequences}"`
const text = `${benchText(`  note ${quoted}\n  allow unused-name ${quoted}\n  board desk\n`)}
board desk { menu { steps ${quoted} ${quoted} } }
profile other based-on daily { vector -1x }
use ${quoted}
${sequences}
run old of daily under work {
  revision ${quoted}
  air 20 °C
  log "log.csv" { column power "package" W; column die ${quoted} °C }
  measured { clock 4.600 GHz; power 90 W; die 51.8 °C }
  score 100 ${quoted} higher better
}
run stopped of daily under work { log ${quoted} { column power ${quoted} W }; stopped after 10 min ${quoted} }
`
const files = { 'a.detent': text, 'log.csv': `package,${sequences},${sequences}\n1,2,3\nx${sequences},1,2\n` }
const acts = new RegExp(
  [
    '[\\0-\\x08\\v\\f\\x0e-\\x1f\\x7f-\\x9f]',
    '\\r(?!\\n)',
    '[\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u2069]',
  ].join('|'),
)

const calls: readonly (readonly string[])[] = [
  ...['text', 'json', 'sarif', 'junit'].map(output => ['check', '--output', output]),
  ...['text', 'json'].map(output => ['predict', '--runs', '--output', output]),
  ...['text', 'json', 'markdown', 'html'].map(output => ['sheet', 'daily', '--output', output, '.']),
  ['sheet', 'daily', '--from-git', `x${sequences}`],
  ...['text', 'json', 'markdown'].map(output => ['compare', 'daily', 'other', '--output', output, '.']),
  ['compare', 'daily', `daily@x${sequences}`, '.'],
  ...['html', 'markdown'].map(output => ['report', '--output', output]),
  ...['text', 'json'].map(output => ['fit', 'a.detent', '--part', 'sample', '--output', output]),
  ['check', `no${sequences}`],
  [`no${sequences}`],
]

describe('a terminal is given nothing to obey that a text has', () => {
  it.each(calls)('by %s %s %s %s', async (...args) => {
    using folder = temporaryFolder(files)
    startRepository(folder.path)
    commitFiles(folder.path, { 'b.txt': 'x' })
    for (const terminal of [false, true]) {
      const { out, err } = await detent(
        folder.path,
        args.filter(one => one !== undefined),
        { terminal, env: { NO_COLOR: '1' } },
      )
      expect(out + err).not.toBe('')
      expect(out).not.toMatch(acts)
      expect(err).not.toMatch(acts)
      if (args.includes('json') && args[0] !== 'fit') expect(() => JSON.parse(out)).not.toThrow()
    }
  })

  it('but for colours, which no text can make', async () => {
    using folder = temporaryFolder(files)
    const { out } = await detent(folder.path, ['check'], { terminal: true })
    const rest = out.replaceAll(new RegExp(['\\x1b', '\\[(?:1|2|22|31|32|33|34|39)m'].join(''), 'g'), '')
    expect(rest).not.toBe(out)
    expect(rest).not.toMatch(acts)
    expect(out).toContain('\\u001b[31m')
  })

  it('and a text that is passed on is the same, but on a terminal', async () => {
    using folder = temporaryFolder({})
    const input = `# ${sequences}\n`
    expect((await detent(folder.path, ['format', '-'], { input })).out).toBe(input)
    expect((await detent(folder.path, ['format', '-'], { input, terminal: true })).out).not.toMatch(acts)
  })
})
