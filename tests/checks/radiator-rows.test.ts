import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'

const cooler = (rows: string): string => `detent 1
cooler pond kind loop {
  block-resistance 0.05 K/W
  radiator {
${rows}
  }
}
`

describe('radiator-rows', () => {
  it('finds a third point', () =>
    check(
      cooler('    60 % 0.070 K/W\n    20 % 0.110 K/W\n    100 % 0.060 K/W').replace(
        'radiator {',
        'radiator {\n  ^^^^^^^^ radiator-rows',
      ),
    ))

  it('lets two points pass', () => check(cooler('    20 % 0.110 K/W\n    100 % 0.060 K/W')))

  it('keeps the slowest and the fastest', async () => {
    const text = await fixed(
      'radiator-rows',
      cooler('    60 % 0.070 K/W\n    20 % 0.110 K/W\n    100 % 0.060 K/W\n    70 % 0.065 K/W'),
    )
    expect(text).toBe(cooler('    20 % 0.110 K/W\n    100 % 0.060 K/W'))
  })
})
