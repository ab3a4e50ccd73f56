import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'drive-excess'

describe('drive-excess', () => {
  it('names both currents and both plates', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['drive full'])
    expect(await messageOf(code, demo(code))).toMatch(
      /^Too much current: 14.0 A leaves the plate at .*would serve every load/,
    )
  })

  it('lets a current pass that is coldest nowhere before its limit', async () => {
    expect(await placesOf(code, edited(demo(code), ['drive-current 14 A', 'drive-current 8 A']))).toEqual([])
  })

  it('lets a drive to a target pass, which never goes past the coldest current', async () => {
    expect(await placesOf(code, edited(demo(code), ['drive full', 'drive dew + 2 K']))).toEqual([])
  })

  it('is fixed at the cooler', async () => {
    expect(await fixed(code, demo(code))).toMatch(/drive-current 8\.\d A/)
  })
})

describe('drive-excess under other drives', () => {
  it.each([
    ['fixed 12 A', /drive fixed \d(\.\d)? A/],
    ['supply 50 V', /drive supply \d\d(\.\d)? V/],
  ])('finds %s, and the setting below it that serves every load', async (drive, line) => {
    const text = edited(demo(code), ['drive full', `drive ${drive}`])
    expect(await placesOf(code, text)).toEqual([`drive ${drive}`])
    const mended = await fixed(code, text)
    expect(mended).toMatch(line)
    expect(await placesOf(code, mended)).toEqual([])
  })

  it('judges pulses by their height', async () => {
    const pulsed = edited(demo(code), ['drive full', 'drive pulsed 50 %'])
    expect(await messageOf(code, pulsed)).toContain('14.0 A in pulses leaves the plate')
    expect(await placesOf(code, edited(pulsed, ['drive-current 14 A', 'drive-current 6 A']))).toEqual([])
  })
})
