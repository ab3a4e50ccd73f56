import { describe, expect, it } from 'vitest'
import { applyEdits } from '../../server/service.ts'
import { foundIn } from '../harness/check.ts'
import { loadFixture, uriOf } from '../harness/fixture.ts'

/** Slips that people make who come from other notations: each is told once, with what is meant. */

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

  it('in the version is mended', async () => {
    const loaded = await loadFixture('detent 1.0\n')
    const fixes = foundIn(loaded).flatMap(({ finding }) => finding.fixes ?? [])
    expect(fixes.map(({ edits }) => edits.map(({ text }) => text))).toEqual([['1']])
  })

  it.each(['105 F', '105 °F', '105 Fahrenheit'])('in the scale is told: %s', async value => {
    const found = await told(part(`die-limit ${value}`))
    expect(found.map(one => one.code)).toEqual(['syntax'])
    expect(found[0]?.message).toContain('temperatures are in °C')
    expect(found[0]?.mended).toBeUndefined()
  })

  it('that could be read two ways is not mended', async () => {
    const [found, ...more] = await told(run('date 12.01.2026'))
    expect(more).toEqual([])
    expect(found?.mended).toBeUndefined()
    expect(found?.message).toContain('year, month and day, like `2026-01-12`')
  })

  it('of a key word and a unit on one line is told for each', async () => {
    const found = await told(part('die limit 100 C'))
    expect(found.map(({ mended }) => mended)).toEqual(['part a { die-limit 100 C }', 'part a { die limit 100 °C }'])
  })

  it('of a hyphen makes nothing missing besides', async () => {
    const lacking = async (text: string): Promise<boolean> =>
      foundIn(await loadFixture(text)).some(
        ({ finding }) => finding.code === 'missing-key' && finding.message.includes('`die-limit`'),
      )
    expect(await lacking(part('cores 4'))).toBe(true)
    expect(await lacking(part('die limit 100 °C'))).toBe(false)
  })
})
