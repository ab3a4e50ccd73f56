import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'drive-excess'

describe('drive-excess', () => {
  it('names both currents and both plates', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['drive full'])
    expect(await messageOf(code, demo(code))).toMatch(/14.0 A through the modules.*would serve every load/)
  })

  it('lets a current pass that is coldest nowhere before its limit', async () => {
    expect(await placesOf(code, edited(demo(code), ['drive-current 14 A', 'drive-current 8 A']))).toEqual([])
  })

  it('lets a drive to a target pass, which never goes past the coldest current', async () => {
    expect(await placesOf(code, edited(demo(code), ['drive full', 'drive dew + 2 K']))).toEqual([])
  })

  it('is mended at the cooler', async () => {
    expect(await fixed(code, demo(code))).toMatch(/drive-current 8\.\d A/)
  })
})
