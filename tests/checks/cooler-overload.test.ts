import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'cooler-overload'

describe('cooler-overload', () => {
  it('names the step row, the heat and the rating', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['5 to 8 cores 50x'])
    expect(await messageOf(code, demo(code))).toMatch(
      /^Cooler overloaded by 27\.7 W: .* 118 W into a cooler rated for 90 W/,
    )
  })

  it('lets a rating pass that is just enough, and a cooler without one', async () => {
    expect(await placesOf(code, edited(demo(code), ['rating 90 W', 'rating 118 W']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['  rating 90 W\n', '']))).toEqual([])
  })

  it('finds a core count that no load declares', async () => {
    const text = edited(demo(code), ['cores 1 to 8', 'cores 1 to 4'])
    expect(await messageOf(code, text)).toContain(
      '`burn` on 8 active cores (declared as 1 to 4; the scheduler may keep any number busy)',
    )
  })

  it('finds a plate warmer than its own hot side', async () => {
    const hot = edited(demo('frost'), ['idle-power 8 W', 'idle-power 8 W'], ['  modules 3', '  modules 1'])
    expect(await placesOf(code, hot)).toEqual(['1 to 8 cores 50x'])
    expect(await messageOf(code, hot)).toContain('above its own hot side')
    expect(await placesOf(code, demo('frost'))).toEqual([])
  })

  it('is fixed by a sustained power at the rating', async () => {
    expect(await fixed(code, demo(code))).toContain('sustained-power 90 W')
  })
})

describe('cooler-overload on a driven plate', () => {
  const plate = (...changes: readonly (readonly [string, string])[]): string => edited(demo('frost'), ...changes)

  it.each([
    ['hold 40 °C', 'air 18 °C to 24 °C'],
    ['dew + 3 K', 'air 18 °C to 24 °C'],
    ['dew + 30 K', 'air 18 °C to 24 °C'],
  ])('leaves a plate alone that `drive %s` holds warm on purpose', async drive => {
    const text = plate(['drive full', `drive ${drive}`], ['humidity 40 % to 55 %', 'humidity 90 %'])
    expect(await placesOf(code, text)).toEqual([])
  })

  it('finds one whose target is out of reach', async () => {
    const text = plate(['drive full', 'drive hold 20 °C'], ['  modules 3', '  modules 1'])
    expect(await placesOf(code, text)).toEqual(['1 to 8 cores 50x'])
  })
})
