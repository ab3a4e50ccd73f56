import { describe, expect, it } from 'vitest'
import { loadFixture } from '../harness/fixture.ts'
import { demo, edited } from './demo.ts'

const code = 'run-log'

/** A log of a load that is steady, sampled every second. */
function log(header: string, rows: number, power: (t: number) => number): string {
  return `${header}\n${Array.from({ length: rows }, (_, t) => `${t},${power(t).toFixed(3)}`).join('\n')}\n`
}

async function messages(files: Readonly<Record<string, string>>, text = demo(code)): Promise<string[]> {
  const fixture = Object.entries({ 'a.detent': text, ...files }).map(([name, content]) => `--- ${name}\n${content}`)
  const { service } = await loadFixture(fixture.join('\n'))
  const [uri] = [...service.workspace.documents()].map(document => document.uri).filter(one => one.endsWith('a.detent'))
  return service
    .findings(uri ?? '')
    .filter(({ finding }) => finding.code === code)
    .map(({ finding }) => finding.message)
}

const wiggle = (t: number): number => 40 + Math.sin(t * 7.3) * 0.2

describe('run-log', () => {
  it('tells a log that is not there', async () => {
    expect(await messages({})).toEqual([expect.stringContaining('There is no such file')])
  })

  it('says nothing of a log that is steady and whole', async () => {
    expect(await messages({ 'logs/evening.csv': log('elapsed,package', 3000, wiggle) })).toEqual([])
  })

  it('tells columns that the log does not have, and what it has', async () => {
    const [message] = await messages({ 'logs/evening.csv': log('elapsed,packages', 3000, wiggle) })
    expect(message).toContain('no column "package"')
    expect(message).toContain('"packages"')
    const [neither] = await messages({ 'logs/evening.csv': log('clock,heat', 3000, wiggle) })
    expect(neither).toContain('No column named here')
  })

  it('tells a log that says nothing, unless figures were read off', async () => {
    // A power that rises is no reason to refuse a log any more: its end is what it came to. Three rows are too few.
    expect(await messages({ 'logs/evening.csv': log('elapsed,package', 600, t => 40 + t / 10) })).toEqual([])
    const files = { 'logs/evening.csv': log('elapsed,package', 3, t => 40 + t / 10) }
    expect(await messages(files)).toEqual([expect.stringContaining('Nothing to compare: its log is too short')])
    const read = edited(demo(code), [
      '  air 22 °C\n  humidity 50 %\n  log',
      '  air 22 °C\n  humidity 50 %\n  measured { power 40 W }\n  log',
    ])
    expect(await messages(files, read)).toEqual([])
  })

  it('counts the rows that could not be taken, and names the first', async () => {
    const broken = log('elapsed,package', 3000, wiggle).replace('\n40,', '\n40,oops,')
    const [message] = await messages({ 'logs/evening.csv': broken })
    expect(message).toMatch(/^1 of 3000 rows of the log were left out \(line 42: /)
  })

  it.each([
    ['beyond any double', () => '1e999'],
    ['by turns', (t: number) => (t % 2 === 0 ? '-1e308' : '1e308')],
    ['that grow', (t: number) => `${t}e306`],
    ['of many digits', () => '9'.repeat(320)],
    ['at the bound', (t: number) => `${t}e27`],
  ] as const)('shows no infinity for times %s', async (_name, time) => {
    const rows = Array.from({ length: 300 }, (_, t) => `${time(t)},${wiggle(t).toFixed(3)}`).join('\n')
    const found = await messages({ 'logs/evening.csv': `elapsed,package\n${rows}\n` })
    expect(found.length).toBeGreaterThan(0)
    expect(found.join('\n')).not.toMatch(/NaN|Infinity/)
  })

  const steadyLog = log('elapsed,package', 3000, wiggle)

  it('tells the header that was meant, and what a missing time comes to', async () => {
    const files = { 'logs/evening.csv': steadyLog.replace('elapsed', 'elapsed [s]') }
    const [message] = await messages(files)
    expect(message).toContain('Did you mean "elapsed [s]"? Until then its rows count as 1 s apart.')
    const [power] = await messages({ 'logs/evening.csv': steadyLog.replace('package', 'Package (W)') })
    expect(power).toContain('Did you mean "Package (W)"? This figure is not compared.')
  })

  it('tells a header that stands twice', async () => {
    const twice = steadyLog.replace('package', 'package,package').replaceAll(/,([\d.]+)$/gm, ',$1,$1')
    expect(await messages({ 'logs/evening.csv': twice })).toEqual([
      expect.stringContaining('"package" stands more than once in the log\'s header. The first is taken'),
    ])
  })

  it('says how far it looks for a header', async () => {
    const [message] = await messages({ 'logs/evening.csv': 'x\n'.repeat(300) + steadyLog })
    expect(message).toContain('The header is looked for in the first 200 lines and 64 K characters.')
  })

  it('tells a run that held and stopped, and a delimiter that cannot be one', async () => {
    const files = { 'logs/evening.csv': steadyLog }
    const both = edited(demo(code), ['  log ', '  held 30 min\n  stopped after 12 min "hang"\n  log '])
    expect(await messages(files, both)).toEqual([expect.stringContaining('Held and stopped')])
    const delimited = (mark: string): string =>
      edited(demo(code), ['    column power', `    delimiter ${mark}\n    column power`])
    for (const mark of ['"ab"', '"a"', '"7"']) {
      const [message] = await messages(files, delimited(mark))
      expect(message).toContain('a delimiter is one character that stands in no cell')
    }
    const barred = { 'logs/evening.csv': steadyLog.replaceAll(',', '|') }
    for (const mark of ['pipe', '"|"']) expect(await messages(barred, delimited(mark))).toEqual([])
  })
})
