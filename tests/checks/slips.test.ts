import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { applyEdits } from '../../server/service.ts'
import { check, foundIn, readMarks } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'
import { root } from '../harness/sources.ts'

/** Slips that people make who come from other notations: each is reported once, with what is meant. */

async function told(text: string) {
  const loaded = await loadFixture(text)
  return foundIn(loaded)
    .filter(({ finding }) => finding.code !== 'missing-key' && finding.code !== 'unknown-name')
    .map(({ start, finding }) => {
      const [fix] = finding.fixes ?? []
      const base = start - finding.at.start
      const edits = fix?.edits.map(edit => ({ start: base + edit.start, end: base + edit.end, text: edit.text }))
      const mended = edits === undefined ? undefined : applyEdits(loaded.text(uriOf('a.detent')), edits)
      return { code: finding.code, message: finding.message, mended: mended?.split('\n')[1] }
    })
}

const part = (line: string): string => `detent 1\npart a { ${line} }\n`
const load = (line: string): string => `detent 1\nload a { ${line} }\n`
const limits = (line: string): string => `detent 1\nprofile a { limits { ${line} } }\n`
const run = (line: string): string => `detent 1\nrun a of b under c { ${line} }\n`

describe('a slip', () => {
  it.each([
    ['a lost hyphen', part('die limit 100 °C'), 'unknown-word', part('die-limit 100 °C')],
    ['a lost hyphen behind a key word', part('ratio step 0.5x'), 'unknown-word', part('ratio-step 0.5x')],
    ['a lost degree sign', part('die-limit 100 C'), 'syntax', part('die-limit 100 °C')],
    [
      'a unit’s name',
      limits('sustained-power 90 W over 60 sec'),
      'unknown-word',
      limits('sustained-power 90 W over 60 s'),
    ],
    ['minutes', limits('sustained-power 90 W over 2 mins'), 'unknown-word', limits('sustained-power 90 W over 2 min')],
    ['a unit’s name with a capital', limits('current 150 Amps'), 'syntax', limits('current 150 A')],
    ['watts', limits('burst-power 150 watts'), 'unknown-word', limits('burst-power 150 W')],
    ['a temperature’s unit', limits('die 90 Celsius'), 'syntax', limits('die 90 °C')],
    ['a comma between statements', load('cores 4, activity 0.7'), 'syntax', load('cores 4; activity 0.7')],
    ['a comma behind a unit', limits('die 90 °C, current 150 A'), 'syntax', limits('die 90 °C; current 150 A')],
    ['nothing between statements', limits('die 90 °C current 150 A'), 'syntax', limits('die 90 °C; current 150 A')],
    ['a share for a pure number', load('cores 4; activity 70 %'), 'unit-mismatch', load('cores 4; activity 0.7')],
    ['points for a range', load('cores 2..4'), 'syntax', load('cores 2 to 4')],
    ['a date with the day first', run('date 25.01.2026'), 'syntax', run('date 2026-01-25')],
    ['a date with the month first', run('date 01/25/2026'), 'syntax', run('date 2026-01-25')],
    ['a date with points', run('date 2026.1.25'), 'syntax', run('date 2026-01-25')],
    ['a date without its zeros', run('date 2026-1-5'), 'syntax', run('date 2026-01-05')],
    ['minutes in short', run('held 30m'), 'unknown-word', run('held 30min')],
    [
      'a block without braces',
      'detent 1\nprofile a { voltage core needs + 10 mV }\n',
      'syntax',
      'detent 1\nprofile a { voltage { core needs + 10 mV } }\n',
    ],
  ])('%s', async (_, text, code, mended) => {
    const found = await told(text)
    expect(found.map(one => one.code)).toEqual([code])
    expect(found[0]?.mended).toBe(mended.split('\n')[1])
  })

  it('in the version is fixed', async () => {
    const loaded = await loadFixture('detent 1.0\n')
    const fixes = foundIn(loaded).flatMap(({ finding }) => finding.fixes ?? [])
    expect(fixes.map(({ edits }) => edits.map(({ text }) => text))).toEqual([['1']])
  })

  // 212 °F is the boiling point of water; 105 °F is 40.56 °C, written to a tenth.
  it.each([
    ['die-limit 212 F', 'die-limit 100 °C'],
    ['die-limit 105 °F', 'die-limit 40.6 °C'],
    ['needs-at -40 Fahrenheit', 'needs-at -40 °C'],
  ])('in the scale is converted: %s', async (line, celsius) => {
    const found = await told(part(line))
    expect(found.map(one => one.code)).toEqual(['syntax'])
    expect(found[0]?.message).toContain('temperatures are in °C')
    expect(found[0]?.mended).toBe(part(celsius).split('\n')[1])
  })

  it('in the scale of a difference, and of a log, is only reported', async () => {
    const difference = await told('detent 1\nprofile a { bands return 5 °F { 1 core above 70 °C -1x } }\n')
    expect(difference.map(({ code, mended }) => [code, mended])).toEqual([['syntax', undefined]])
    const all = await told(run('log "a.csv" { column die "hot" °F }'))
    const column = all.filter(({ code }) => code !== 'run-log')
    expect(column.map(({ code, mended }) => [code, mended])).toEqual([['syntax', undefined]])
    expect(column[0]?.message).toContain('A log in °F has to be converted first.')
  })

  it('that could be read two ways is not fixed', async () => {
    for (const date of ['12.01.2026', '12/01/2026', '1-2-2026', '2026/13/13']) {
      const [found, ...more] = await told(run(`date ${date}`))
      expect(more).toEqual([])
      expect(found?.mended).toBeUndefined()
      if (date !== '1-2-2026') expect(found?.message).toContain('year, month and day, like `2026-01-12`')
    }
  })

  it('of a key word and a unit on one line is reported for each', async () => {
    const found = await told(part('die limit 100 C'))
    expect(found.map(({ mended }) => mended)).toEqual(['part a { die-limit 100 C }', 'part a { die limit 100 °C }'])
  })

  it('of a hyphen makes nothing missing as well', async () => {
    const lacking = async (text: string): Promise<boolean> =>
      foundIn(await loadFixture(text)).some(
        ({ finding }) => finding.code === 'missing-key' && finding.message.includes('`die-limit`'),
      )
    expect(await lacking(part('cores 4'))).toBe(true)
    expect(await lacking(part('die limit 100 °C'))).toBe(false)
  })
})

/**
 * A bench from an empty file, and slips that people make on it: units, magnitudes, signs, names, braces, commas, quotes,
 * other notations and wrong tables. Each is a line as it stands, the same with the slip and carets under what must be
 * found, and the line as the first fix leaves it, where there is one.
 */
const [slipBench = '', cases = ''] = readFileSync(join(root, 'tests', 'checks', 'slips.txt'), 'utf8').split('====\n')
const slips = cases.split(/\n----\n/).map(block => {
  const [sound = '', slipped = '', way = ''] = block.trimEnd().split(/\n->(?:\n| )/)
  return [sound, slipped, way === 'no fix' ? undefined : way] as const
})

describe('a bench from an empty file', () => {
  it('has no finding', () => check(slipBench))

  it('is tried with slips enough', () => expect(slips.length).toBeGreaterThanOrEqual(90))

  it.each(slips)('%s', async (sound, slipped, fixed) => {
    const pieces = slipBench.split(sound)
    expect(pieces.length, sound).toBeGreaterThanOrEqual(2)
    const marked = [pieces[0], slipped, pieces.slice(1).join(sound)].join('')
    const { text, marks } = readMarks(marked)
    expect(marks).toHaveLength(1)
    const [found] = await check(marked)
    const [fix] = found?.fixes ?? []
    if (fix === undefined || found === undefined) return expect(fixed).toBeUndefined()
    const loaded = await loadFixture(text)
    const base = loaded.service.workspace
      .document(uriOf('a.detent'))
      ?.source.chunks.find(({ chunk }) => chunk.text === found.at.chunk.text)?.start
    if (base === undefined) throw new Error('The finding lies nowhere')
    const edits = fix.edits.map(edit => ({ start: base + edit.start, end: base + edit.end, text: edit.text }))
    const after = applyEdits(text, edits)
    expect(after.split('\n')).toContain(fixed)
    const left = foundIn(await loadFixture(after)).map(({ finding }) => finding.code)
    expect(left.filter(code => code === found.code)).toEqual([])
  })
})
