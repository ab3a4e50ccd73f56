import { describe, expect, it } from 'vitest'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'current-over'

describe('current-over', () => {
  it('names what the lowest ratio draws', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['current 10 A'])
    // 8 · 1.6 nF · 0.8 GHz · 1.02 V = 10.4 A switching alone.
    expect(await messageOf(code, demo(code))).toMatch(
      /^`current` exceeded by 3\.\d\d A: .* draws 13\.\d A at 8x, its lowest ratio; the limit is 10 A/,
    )
  })

  it('lets a limit pass that the lowest ratio keeps', async () => {
    expect(await placesOf(code, edited(demo(code), ['current 10 A', 'current 14 A']))).toEqual([])
  })

  it('judges the burst power too', async () => {
    const text = edited(demo(code), ['current 10 A', 'burst-power 20 W'])
    expect(await placesOf(code, text)).toEqual(['burst-power 20 W'])
    expect(await placesOf(code, edited(text, ['20 W', '30 W']))).toEqual([])
  })
})
