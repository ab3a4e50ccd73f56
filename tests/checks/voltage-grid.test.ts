import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'voltage-grid'

describe('voltage-grid', () => {
  it('says what the board will set instead', async () => {
    expect(await messageOf(code, demo(code))).toContain('1.303 V in steps of 5 mV. The board will set 1.305 V')
    const below = edited(demo(code), ['1.303 V', '1.302 V'])
    expect(await messageOf(code, below)).toContain('will set 1.300 V, less than you meant')
  })

  it('lets a value on the grid pass, an offset, and any value where there is no grid', async () => {
    expect(await placesOf(code, edited(demo(code), ['1.303 V', '1.305 V']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['fixed 1.303 V', 'needs + 13 mV']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['  core-voltage-step 5 mV\n', '']))).toEqual([])
  })

  it('judges `set` rows, each at its own place', async () => {
    const text = edited(demo(code), ['core fixed 1.303 V', 'set 50x 1.301 V\n    set 45x 1.252 V\n    set 40x 1.200 V'])
    expect(await placesOf(code, text)).toEqual(['set 50x 1.301 V', 'set 45x 1.252 V'])
  })

  it('is fixed by the nearest value on the grid, exact halves upward', async () => {
    expect(await fixed(code, demo(code))).toContain('core fixed 1.305 V')
    expect(await fixed(code, edited(demo(code), ['1.303 V', '1302.5 mV']))).toContain('core fixed 1305.0 mV')
    const fine = edited(demo(code), ['5 mV', '6.25 mV'], ['1.303 V', '1.3 V'])
    expect(await placesOf(code, fine)).toEqual([])
    expect(await fixed(code, edited(fine, ['fixed 1.3 V', 'fixed 1.31 V']))).toContain('core fixed 1.3125 V')
  })
})
