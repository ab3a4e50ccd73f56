import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

describe('range-reversed', () => {
  it('finds a range from high to low', () =>
    check(`detent 1
room loft {
  air 26 °C to 18 °C
      ^^^^^^^^^^^^^^ range-reversed
  humidity 50 %
}
`))

  it('lets a range of one value pass', () => check('detent 1\nroom loft { air 22 °C to 22 °C; humidity 50 % }\n'))

  it('swaps the ends', async () => {
    const text = await fixed('range-reversed', 'detent 1\nroom loft { air 26 °C to -4 °C; humidity 50 % }\n')
    expect(text).toContain('air -4 °C to 26 °C;')
  })

  it('swaps core counts, and no gap is reported as well', async () => {
    const fixture = onBench('  steps {\n    4 to 1 cores 46x\n    ^^^^^^ range-reversed\n  }')
    await check(fixture)
    expect(await fixed('range-reversed', fixture)).toContain('1 to 4 cores 46x')
  })
})
