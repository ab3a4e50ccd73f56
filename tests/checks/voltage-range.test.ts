import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'voltage-range'

describe('voltage-range', () => {
  it('names the voltage, the range and the excess', async () => {
    const message = await messageOf(code, demo(code))
    expect(message).toContain('Voltage 30 mV too high: 1.480 V at 50x, the part allows 0.650 V to 1.450 V')
    expect(message).toMatch(/ages or kills.*maker's limit/)
  })

  it('lets the end of the range itself pass', async () => {
    expect(await placesOf(code, edited(demo(code), ['1.480 V', '1.450 V']))).toEqual([])
  })

  it('judges a `set` row of a ratio that no step asks for', async () => {
    expect(await placesOf(code, edited(demo(code), ['set 50x', 'set 58x']))).toEqual(['set 58x 1.480 V'])
  })

  it('judges what bands and the offset come to, at `core`', async () => {
    // 48x needs 1.010 V + 8/13 · 0.280 V = 1.182 V and 50x 1.225 V: with 250 mV more both are too high.
    const text = edited(demo(code), ['    core needs + 10 mV\n    set 50x 1.480 V\n', '    core needs + 250 mV\n'])
    expect(await placesOf(code, text)).toEqual(['core needs + 250 mV'])
    expect(await messageOf(code, text)).toContain('Voltage 25 mV too high: 1.475 V at 50x')
    expect(await fixed(code, text)).toContain('core needs + 5 mV')
  })

  it('offers no voltage below what the ratio needs, but the fastest ratio inside', async () => {
    // 50x needs 1.2254 V and 47x 1.1608 V; with 10 mV and 5 mV steps 47x is set to 1.170 V, 48x to 1.190 V.
    const text = edited(demo(code), ['to 1.45 V', 'to 1.18 V'], ['    set 50x 1.480 V\n', ''])
    expect(await messageOf(code, text)).toContain('47x is the fastest ratio that stays inside')
    expect(await fixed(code, text)).toMatch(/1 to 8 cores +47x/)
    const set = edited(demo(code), ['to 1.45 V', 'to 1.18 V'], ['set 50x 1.480 V', 'set 50x 1.230 V'])
    expect(await messageOf(code, set)).toContain('The part needs that much there')
  })

  it('judges a voltage that is too low', async () => {
    const text = edited(demo(code), ['    core needs + 10 mV\n    set 50x 1.480 V\n', '    core fixed 0.600 V\n'])
    expect(await messageOf(code, text)).toContain('Voltage 50 mV too low: 0.600 V at 50x')
  })

  it('is fixed with the least voltage that serves, not with the highest allowed', async () => {
    expect(await fixed(code, demo(code))).toContain('set 50x 1.230 V')
  })
})
