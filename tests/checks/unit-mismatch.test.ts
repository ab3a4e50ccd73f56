import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'

describe('unit-mismatch', () => {
  it('finds kelvin where degrees are meant', () =>
    check(`detent 1
room loft {
  air 22 K
      ^^^^ unit-mismatch
  humidity 50 %
}
`))

  it('lets another unit of the same kind pass', () => check('detent 1\nboard slab { core-voltage-step 0.005 V }\n'))

  it('writes degrees for kelvin, and kelvin for degrees', async () => {
    expect(await fixed('unit-mismatch', 'detent 1\nroom loft { air 22 K; humidity 50 % }\n')).toContain('air 22 °C;')
    const part = 'detent 1\npart willow { leakage-doubling 28 °C }\n'
    expect(await fixed('unit-mismatch', part)).toContain('leakage-doubling 28 K }')
  })

  it('takes a unit away from a count', async () => {
    await check('detent 1\nload weave { cores 4 W }\n                   ^^^ unit-mismatch\n')
    expect(await fixed('unit-mismatch', 'detent 1\nload weave { cores 4 W }\n')).toBe(
      'detent 1\nload weave { cores 4 }\n',
    )
  })

  it('has no fix where the value itself must be another', async () => {
    const [finding] = await check('detent 1\nboard slab { supply 600 A }\n                    ^^^^^ unit-mismatch\n')
    expect(finding?.message).toMatch(/`600 A` is a current; this takes a power \(W, .*\)/)
    expect(finding?.fixes).toBeUndefined()
  })
})
