import { describe, expect, it } from 'vitest'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'drive-short'

describe('drive-short', () => {
  it('names the limit that stops a supply, and the current it stops at', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['drive supply 28 V'])
    expect(await messageOf(code, demo(code))).toMatch(
      /`drive supply 28 V` is held at 4\.00 A a module by `supply-limit 4 A`, and the plate stands at \d/,
    )
  })

  it('names `drive-current` where that is the lower of the two', async () => {
    const strong = edited(demo(code), ['supply-limit 4 A', 'supply-limit 40 A'], ['supply 28 V', 'supply 90 V'])
    expect(await messageOf(code, strong)).toContain('is held at 7.00 A a module by `drive-current 7 A`')
  })

  it('shares the limit among the strings', async () => {
    const strings = edited(demo(code), ['wiring 3 by 1', 'wiring 1 by 3'])
    expect(await messageOf(code, strings)).toContain('held at 1.33 A a module by `supply-limit 4 A`')
  })

  it('lets a supply alone that gets as far as its voltage asks', async () => {
    expect(await placesOf(code, edited(demo(code), ['supply 28 V', 'supply 9 V']))).toEqual([])
  })

  it('finds a fixed current that the supply does not have', async () => {
    const fixed = edited(demo(code), ['drive supply 28 V', 'drive fixed 5 A'])
    expect(await messageOf(code, fixed)).toContain('`drive fixed 5 A` takes 5.00 A, more than `supply-limit 4 A`.')
    expect(await placesOf(code, edited(fixed, ['fixed 5 A', 'fixed 4 A']))).toEqual([])
  })

  it('finds a target that more than `drive-current` would reach, as information', async () => {
    const held = edited(demo(code), ['drive supply 28 V', 'drive hold 16 °C'], ['  supply-limit 4 A\n', ''])
    const capped = edited(held, ['drive-current 7 A', 'drive-current 4 A'])
    const [found] = await findingsOf(code, capped)
    expect(found?.finding.severity).toBe('information')
    expect(found?.finding.message).toMatch(
      /`drive-current 4 A` leaves the plate .* above the 16\.0 °C that `drive hold 16 °C` asks for; \d\.\d\d A would reach it/,
    )
  })

  it('says nothing of a target that no current reaches', async () => {
    const cold = edited(demo(code), ['drive supply 28 V', 'drive hold -60 °C'], ['  supply-limit 4 A\n', ''])
    expect(await placesOf(code, cold)).toEqual([])
  })
})
