import { describe, expect, it } from 'vitest'
import { demo, edited, findingsOf, messageOf, placesOf } from './demo.ts'

const code = 'pulse-loss'

describe('pulse-loss', () => {
  it('says by how much the pulses cost, in kelvin and as a share of the cooling', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['drive pulsed 50 %'])
    expect(await messageOf(code, demo(code))).toMatch(
      /^Pulses cost \d\d\.\d % of the cooling that smooth current gives: `drive pulsed 50 %`, for .* K warmer than with 4\.00 A of smooth current, their mean/,
    )
  })

  it('lets pulses pass that cost less than a tenth', async () => {
    expect(await placesOf(code, edited(demo(code), ['pulsed 50 %', 'pulsed 90 %']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['drive-current 8 A', 'drive-current 2 A']))).toEqual([])
  })

  it('says nothing of smooth current, nor of a cooler without a plate', async () => {
    expect(await placesOf(code, edited(demo(code), ['pulsed 50 %', 'fixed 8 A']))).toEqual([])
  })

  it('offers their mean as smooth current, not as what one would take without thinking', async () => {
    const [found] = await findingsOf(code, demo(code))
    expect(found?.finding.fixes).toMatchObject([{ title: 'Write `drive fixed 4 A`, for a supply of smooth current' }])
    expect(found?.finding.fixes?.some(fix => fix.preferred)).toBe(false)
  })
})
