import { describe, expect, it } from 'vitest'
import { fixed } from '../harness/check.ts'
import { demo, edited, messageOf, placesOf } from './demo.ts'

const code = 'supply-short'

describe('supply-short', () => {
  it('counts converter losses and the rest of the machine', async () => {
    expect(await placesOf(code, demo(code))).toEqual(['board test-board'])
    // 117.7 W / 0.9 + 50 W = 180.8 W.
    expect(await messageOf(code, demo(code))).toMatch(/^Supply 30\.8 W short: .* that is 181 W from a supply of 150 W/)
  })

  it('lets a supply pass that is just enough', async () => {
    expect(await placesOf(code, edited(demo(code), ['supply 150 W', 'supply 181 W']))).toEqual([])
    expect(await placesOf(code, edited(demo(code), ['supply 150 W', 'supply 180 W']))).toHaveLength(1)
  })

  it('counts `other-power`', async () => {
    const text = edited(demo(code), ['supply 150 W', 'supply 181 W\n  other-power 60 W'])
    expect(await messageOf(code, text)).toContain('60 W for the rest')
  })

  it('is fixed by a sustained power that leaves room', async () => {
    // (150 W − 50 W) · 0.9 = 90 W.
    expect(await fixed(code, demo(code))).toContain('  limits {\n    sustained-power 90 W\n  }\n}')
  })
})
