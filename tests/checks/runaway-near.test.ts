import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'runaway-near'

describe('runaway-near', () => {
  it('names the slope', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['1 to 8 cores 50x'])
    expect(await messageOf(code, demo(code))).toMatch(/with a slope of \d\.\d+, above 0\.7/)
  })

  it('lets a cooler pass that lowers the slope', async () => {
    expect(await placesOf(code, edited(demo(code), ['0.2 K/W', '0.1 K/W']))).toEqual([])
  })

  it('says nothing of a step that runs away altogether', async () => {
    expect(await placesOf(code, demo('thermal-runaway'))).toEqual([])
  })

  it('is fixed by a lower step', async () => {
    expect(await fixed(code, demo(code))).toMatch(/1 to 8 cores +4\dx/)
  })
})
