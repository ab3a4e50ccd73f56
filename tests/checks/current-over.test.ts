import { describe, expect, it } from 'vitest'
import { check } from '../harness/check.ts'
import { railed, soundSteps, twoGroups } from '../harness/two-groups.ts'
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

  it('judges the current of each supply rail by the limit that is its own', async () => {
    const bench = (limits: string): string =>
      `--- a.detent\n${railed(twoGroups(`${soundSteps}\n  limits {\n${limits}\n  }`))}`
    const [found] = await check(
      bench('    current 150 A\n    current second 4 A\n    ^^^^^^^^^^^^^^^^^^ current-over'),
      {
        only: [code],
      },
    )
    expect(found?.message).toMatch(/^`current second` exceeded by \d\.\d\d A: .* from rail second at /)
    await check(bench('    current 4 A\n    ^^^^^^^^^^^ current-over\n    current second 20 A'), { only: [code] })
    await check(bench('    current 150 A\n    current second 20 A'), { only: [code] })
    // One line for both rails is judged on each.
    const both = await check(bench('    current 4 A\n    ^^^^^^^^^^^ current-over, current-over'), { only: [code] })
    expect(both.map(({ message }) => /from rail (\S+)/.exec(message)?.[1])).toEqual(['main', 'second'])
  })
})
