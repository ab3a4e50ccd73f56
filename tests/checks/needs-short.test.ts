import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'needs-short'

describe('needs-short', () => {
  it('names both ratios', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['1 to 2 cores 55x'])
    expect(await messageOf(code, demo(code))).toContain('55x is 2x beyond 53x')
  })

  it('lets the last measured ratio pass', async () => {
    expect(await placesOf(code, edited(demo(code), ['55x', '53x']))).toEqual([])
  })

  it('is fixed by the last measured ratio that the part can run', async () => {
    expect(await fixed(code, demo(code))).toMatch(/1 to 2 cores +53x/)
    expect(await fixed(code, edited(demo(code), ['53x', '52.7x']))).toMatch(/1 to 2 cores +52x/)
  })
})
