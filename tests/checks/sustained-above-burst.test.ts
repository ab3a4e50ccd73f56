import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'sustained-above-burst'

describe('sustained-above-burst', () => {
  it('names both', async () => {
    expect(await messageOf(code, demo(code))).toContain(
      '`sustained-power 160 W` never acts: it is 20 W above `burst-power 140 W`',
    )
  })

  it('lets equal limits pass', async () => {
    expect(await placesOf(code, edited(demo(code), ['160 W', '140 W']))).toEqual([])
  })

  it('stands at the limit that a derived profile changed', async () => {
    const clean = edited(demo(code), ['160 W', '120 W'])
    const text = `${clean}\nprofile night based-on daily {\n  limits { burst-power 100 W }\n}\n`
    expect(await placesOf(code, text)).toEqual(['burst-power 100 W'])
    expect(await fixed(code, text)).toContain('limits { burst-power 100 W; sustained-power 100 W over 30 s }')
  })

  it('is fixed by the burst power', async () => {
    expect(await fixed(code, demo(code))).toContain('sustained-power 140 W over 30 s')
  })
})
