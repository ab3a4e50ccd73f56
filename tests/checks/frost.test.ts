import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'frost'

describe('frost', () => {
  it('names idle, where the plate is coldest', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.under).toBe('drive full')
    expect(found?.finding.message).toMatch(
      /^Plate \d+\.\d K below the dew point of .*`idle` at 24 °C air and 55 % humidity, at -\d+/,
    )
    expect(found?.finding.load).toBe('idle')
  })

  it('lets a plate pass that is wet, not white', async () => {
    expect(await placesOf(code, edited(demo(code), ['drive full', 'drive hold 1 °C']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['drive full', 'drive hold -1 °C']))).toHaveLength(1)
  })

  it('counts the frost point where the dew point lies below 0 °C', async () => {
    // 20 °C and 20 %: frost point -3.24 °C, dew point -3.67 °C (Magnus form, both recomputed independently).
    const dry = edited(
      demo(code),
      ['air 18 °C to 24 °C', 'air 20 °C'],
      ['humidity 40 % to 55 %', 'humidity 20 %'],
      ['drive full', 'drive hold -3.4 °C'],
    )
    expect(await messageOf(code, dry)).toContain('0.2 K below the frost point of -3.2 °C')
    expect(await placesOf(code, edited(dry, ['-3.4 °C', '-3.2 °C']))).toEqual([])
  })

  it('is fixed by a drive to the dew point', async () => {
    expect(await fixed(code, demo(code))).toContain('drive dew + 3 K')
  })
})
