import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'sustained-over'

describe('sustained-over', () => {
  it('names what the lowest ratio takes', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['sustained-power 20 W over 30 s'])
    // 10 W shared, 8 · 1.6 nF · 0.8 GHz · (1.02 V)² = 10.7 W switching, 3 W of leakage near 27 °C.
    expect(await messageOf(code, demo(code))).toContain('takes 23.8 W at 8x, its lowest ratio, 3.81 W above')
  })

  it('lets a limit pass that the lowest ratio keeps', async () => {
    expect(await placesOf(code, edited(demo(code), ['20 W over', '24 W over']))).toEqual([])
  })

  it('is fixed by a limit that can be kept; its averaging time stays', async () => {
    expect(await fixed(code, demo(code))).toContain('sustained-power 25 W over 30 s')
  })
})
