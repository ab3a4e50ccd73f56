import { describe, expect, it } from 'vitest'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'expect-undecided'
const asked = (line: string): string => edited(demo(code), ['expect idle holds >= 3.0 GHz', line])

describe('expect-undecided', () => {
  it('says why', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['expect idle holds >= 3.0 GHz'])
    expect(await messageOf(code, demo(code))).toContain('the model gives `idle` no clock')
    expect(await messageOf(code, asked('expect burn drive-power <= 90 W'))).toContain('no thermoelectric plate')
    expect(await messageOf(code, asked('expect off plate above dew by 1 K'))).toContain('drive-when-off yes')
  })

  it('lets what can be judged pass', async () => {
    expect(await placesOf(code, asked('expect idle die <= 40 °C'))).toEqual([])
    expect(await placesOf(code, asked('expect burn holds >= 5.0 GHz'))).toEqual([])
  })

  it('says what is missing', async () => {
    const text = edited(asked('expect burn die <= 90 °C'), ['  reference 100 MHz\n', ''])
    expect(await messageOf(code, text)).toContain('part `sample-q4` has no `reference`')
  })

  it('leaves an unknown load to its own finding', async () => {
    expect(await placesOf(code, asked('expect brun die <= 90 °C'))).toEqual([])
  })

  it('does not call an expectation kept where some core counts have no step', async () => {
    const gap = edited(asked('expect burn die <= 90 °C'), ['1 to 8 cores   50x', '1 to 6 cores   50x'])
    expect(await messageOf(code, gap)).toContain('have no row in `steps`')
    // What fails at the counts that have one fails.
    expect(await placesOf('expect-failed', edited(gap, ['90 °C', '30 °C']))).toHaveLength(1)
  })
})
