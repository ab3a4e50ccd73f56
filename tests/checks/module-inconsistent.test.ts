import { describe, expect, it } from 'vitest'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'module-inconsistent'

/** A cooler with these datasheet figures and nothing else. */
function sheet(atC: number, currentA: number, voltageV: number, heatW: number, differenceK: number): string {
  return `detent 1\ncooler c kind thermoelectric {\n  module {\n    at ${atC} °C\n    current ${currentA} A\n    voltage ${voltageV} V\n    heat ${heatW} W\n    difference ${differenceK} K\n  }\n}\n`
}

describe('module-inconsistent', () => {
  it('names both heats', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['heat 110 W'])
    // 16.9 V · 13.3 A · (308.15 K + 70 K)/(2 · 308.15 K) = 137.91 W.
    expect(await messageOf(code, demo(code))).toContain('`heat 110 W` is 20.2 % less than the 138 W')
  })

  it('lets 7 % either way pass', async () => {
    for (const heat of ['128.3 W', '138 W', '147.5 W']) {
      expect(await placesOf(code, edited(demo(code), ['heat 110 W', `heat ${heat}`]))).toEqual([])
    }
    for (const heat of ['128.2 W', '147.6 W']) {
      expect(await placesOf(code, edited(demo(code), ['heat 110 W', `heat ${heat}`]))).toHaveLength(1)
    }
  })

  it.each([
    // PC series drawing, rev. 1, 2006-05-03, hot side 298 K, as read at dtsheet.com/doc/1563006.
    ['PC-072-14-06', 15.4, 8.9, 85.1, 68],
    ['PC-128-14-06', 15.4, 15.8, 151.4, 68],
    ['PC-128-20-08', 24, 15.8, 235.5, 70],
    ['PC-200-14-06', 15.4, 25, 236.5, 68],
    ['PC-288-10-05', 9, 35.8, 198.4, 68],
    ['PC-288-14-11', 8.5, 35.8, 182.6, 71],
  ])('lets the published figures of %s pass', async (_name, currentA, voltageV, heatW, differenceK) => {
    expect(await placesOf(code, sheet(24.85, currentA, voltageV, heatW, differenceK))).toEqual([])
  })

  it('finds published figures that contradict each other', async () => {
    // TM 127-1.4-4.0 as read at electracool.com: 3.9 A, 15.5 V, 32 W, 70 K at 27 °C; the first three and the last give 37.3 W.
    expect(await messageOf(code, sheet(27, 3.9, 15.5, 32, 70))).toContain('37.3 W')
  })
})
