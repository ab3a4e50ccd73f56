import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'over-limit'

describe('over-limit', () => {
  it('names temperature, limit and the watts too much', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['1 to 8 cores 50x'])
    const message = await messageOf(code, demo(code))
    expect(message).toMatch(/rests at 43\.\d °C, 3\.\d K above the die limit of 40 °C/)
    expect(message).toMatch(/W less heat would hold/)
  })

  it('lets a limit pass that the lowest ratio keeps', async () => {
    expect(await placesOf(code, edited(demo(code), ['die 40 °C', 'die 44 °C']))).toEqual([])
  })

  it('is mended by a die limit that the room allows', async () => {
    expect(await fixed(code, demo(code))).toContain('limits { die 45 °C }')
  })
})
