import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'die-limit-range'

describe('die-limit-range', () => {
  it('names both limits', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['die 105 °C'])
    expect(await messageOf(code, demo(code))).toContain("105 °C is 5 K above the part's own 100 °C")
  })

  it('lets the part’s own limit pass', async () => {
    expect(await placesOf(code, edited(demo(code), ['105 °C', '100 °C']))).toEqual([])
  })

  it('finds a trip that comes before the limit', async () => {
    const text = edited(demo(code), ['die 105 °C', 'die 98 °C'], ['die-limit 100 °C', 'die-limit 100 °C\n  trip 98 °C'])
    expect(await messageOf(code, text)).toContain('Machine stops before it slows down')
    expect(await placesOf(code, edited(text, ['trip 98 °C', 'trip 99 °C']))).toEqual([])
    expect(await fixed(code, text)).toContain('die 88 °C')
  })

  it('is fixed by the part’s limit', async () => {
    expect(await fixed(code, demo(code))).toContain('    die 100 °C')
  })
})
