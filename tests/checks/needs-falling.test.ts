import { describe, expect, it } from 'vitest'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'needs-falling'

describe('needs-falling', () => {
  it('names the two rows and the difference', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['50x 1.160 V'])
    expect(await messageOf(code, demo(code))).toContain(
      'Need falls with ratio: 50x has 1.160 V, 30 mV less than the slower 46x',
    )
  })

  it('lets equal voltages pass, and rows in any order', async () => {
    expect(await placesOf(code, edited(demo(code), ['1.160 V', '1.190 V']))).toEqual([])
    const turned = edited(
      demo(code),
      ['    40x   1.010 V\n', ''],
      ['    53x   1.290 V', '    53x   1.290 V\n    40x   1.010 V'],
    )
    expect(await placesOf(code, turned)).toEqual(['50x 1.160 V'])
  })

  it('finds one ratio with two voltages', async () => {
    expect(await messageOf(code, edited(demo(code), ['50x   1.160 V', '46x   1.195 V']))).toContain('Two needs for 46x')
  })
})
