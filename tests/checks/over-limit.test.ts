import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'over-limit'

describe('over-limit', () => {
  it('names temperature, limit and the watts too much', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['1 to 8 cores 50x'])
    const message = await messageOf(code, demo(code))
    expect(message).toMatch(/^Die settles 3\.\d K above its limit of 40 °C: .*, at 43\.\d °C/)
    expect(message).toMatch(/W less heat would hold/)
  })

  it('lets a limit pass that the lowest ratio keeps', async () => {
    expect(await placesOf(code, edited(demo(code), ['die 40 °C', 'die 44 °C']))).toEqual([])
  })

  it('offers to loosen the limit only with caution, and never as what one would take without thinking', async () => {
    expect(await fixed(code, demo(code))).toContain('limits { die 45 °C }')
    const [found] = await findingsOf(code, demo(code))
    expect(found?.finding.fixes).toMatchObject([
      { title: "Raise the die limit to 45 °C, only if the maker's data allow it" },
    ])
    expect(found?.finding.fixes?.some(fix => fix.preferred)).toBe(false)
    expect(found?.finding.message).toContain("if the maker's data allow it")
  })

  it('says where the unevenness of the load decides, and only there', async () => {
    const near = edited(demo(code), ['die 40 °C', 'die 43.7 °C'])
    expect(await messageOf(code, near)).toContain(' `uneven 1.4` decides: with all cores alike it would hold.')
    expect(await messageOf(code, demo(code))).not.toContain('decides')
    expect(await placesOf(code, edited(near, ['; uneven 1.4', '']))).toEqual([])
  })

  it.each([10, 8])('is right that no lower step helps: %dx', async ratio => {
    expect(await messageOf(code, demo(code))).toContain('No lower step would help.')
    expect(await placesOf(code, edited(demo(code), ['50x', `${ratio}x`]))).toHaveLength(1)
  })

  it('names the fan where more air would do', async () => {
    const slow = edited(demo(code), [
      '  limits { die 40 °C }',
      '  fan { 20 °C 20 %; 90 °C 21 % }\n  limits { die 44 °C }',
    ])
    expect(await messageOf(code, slow)).toContain(
      'The `fan` table decides: at 100 % it would hold. Let `fan` reach that sooner.',
    )
    expect(await placesOf(code, edited(slow, ['  fan { 20 °C 20 %; 90 °C 21 % }\n', '']))).toEqual([])
    expect(await messageOf(code, demo(code))).not.toContain('With the fan')
  })
})
