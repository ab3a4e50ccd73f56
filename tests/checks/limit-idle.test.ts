import { describe, expect, it } from 'vitest'
import { demo, edited, placesOf } from './demo.ts'

const code = 'limit-idle'
const on = { [code]: 'hint' } as const

describe('limit-idle', () => {
  it('is off unless it is asked for', async () => {
    expect(await placesOf(code, demo(code))).toEqual([])
    expect(await placesOf(code, demo(code), on)).toEqual(['current 400 A'])
  })

  it('lets a limit pass that acts anywhere', async () => {
    expect(await placesOf(code, edited(demo(code), ['400 A', '80 A']), on)).toEqual([])
  })

  it('looks at each limit for itself', async () => {
    const text = edited(demo(code), ['current 400 A', 'die 95 °C\n    current 80 A\n    sustained-power 300 W'])
    expect(await placesOf(code, text, on)).toEqual(['die 95 °C', 'sustained-power 300 W'])
  })
})
