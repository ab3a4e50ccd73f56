import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

describe('unit-missing', () => {
  it('finds a number without its unit, and nothing missing as well', () =>
    check(`detent 1
room loft {
  air 22
      ^^ unit-missing
  humidity 50 %
}
`))

  it('lets counts and pure numbers pass', () => check('detent 1\nload weave { cores 1 to 4; activity 0.9 }\n'))

  it.each([
    ['room loft { air 22; humidity 50 % }', 'air 22 °C;'],
    ['room loft { air 22 °C; humidity 50 }', 'humidity 50 % }'],
    ['board slab { supply 600 }', 'supply 600 W }'],
  ])('writes the one unit that is in use: %s', async (line, mended) => {
    expect(await fixed('unit-missing', `detent 1\n${line}\n`)).toContain(mended)
  })

  it('writes a ratio without a space', async () => {
    expect(await fixed('unit-missing', onBench('  steps { 1 to 4 cores 46 }'))).toContain('1 to 4 cores 46x }')
  })

  it('offers several units where several would do, the usual one of the key first', async () => {
    const [finding] = await check(
      'detent 1\nrun a of b under idle { held 30 }\n                             ^^ unit-missing\n',
      { only: ['unit-missing'] },
    )
    expect(finding?.fixes?.map(fix => fix.title)).toEqual(['Write `30 min`', 'Write `30 s`', 'Write `30 ms`'])
    expect(finding?.fixes?.some(fix => fix.preferred)).toBe(false)
  })

  it('offers no unit with which the value would be far from usual', async () => {
    const [finding] = await check(
      'detent 1\nboard slab { core-voltage-step 5 }\n                               ^ unit-missing\n',
    )
    expect(finding?.fixes?.map(fix => fix.title)).toEqual(['Write `5 mV`'])
  })

  it('reads a range with one unit at its end as meant, with a hint', async () => {
    const [finding] = await check(
      'detent 1\npart a { core-voltage 700 to 1450 mV }\n                      ^^^ unit-missing\n',
      { only: ['unit-missing', 'range-reversed', 'magnitude'] },
    )
    expect(finding?.severity).toBe('hint')
  })

  it('takes a share of one for a percentage where it cannot be one as it stands', async () => {
    expect(await fixed('unit-missing', 'detent 1\nroom loft { air 22 °C; humidity 0.45 }\n')).toContain('humidity 45 %')
    expect(await fixed('unit-missing', 'detent 1\nroom loft { air 22 °C; humidity 0.3 to 0.6 }\n')).toContain(
      'humidity 30 % to 60 %',
    )
  })
})
