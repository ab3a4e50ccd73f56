import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

describe('unit-missing', () => {
  it('finds a number without its unit, and nothing missing besides', () =>
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

  it('offers several units where several are in use, the usual one of the key first', async () => {
    const [finding] = await check(
      'detent 1\nboard slab { core-voltage-step 5 }\n                               ^ unit-missing\n',
    )
    expect(finding?.fixes?.map(fix => fix.title)).toEqual(['Write `5 mV`', 'Write `5 V`', 'Write `5 µV`'])
    expect(finding?.fixes?.some(fix => fix.preferred)).toBe(false)
  })
})
