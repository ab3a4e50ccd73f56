import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'
import { onBench } from '../harness/sound-bench.ts'

describe('based-on-cycle', () => {
  it('finds a circle once, at its first profile', async () => {
    const [finding] = await check(`detent 1
profile noon based-on dusk { vector -1x }
                      ^^^^ based-on-cycle
profile dusk based-on dawn { vector -2x }
profile dawn based-on noon { vector -2x }
`)
    expect(finding?.message).toContain('`noon` starts from `dusk` and `dawn`, and so from itself again.')
    expect(finding?.related).toHaveLength(2)
  })

  it('finds a profile that starts from itself, not the one that leads to it', () =>
    check(`detent 1
profile dusk based-on noon { vector -1x }
profile noon based-on noon { vector -1x }
                      ^^^^ based-on-cycle
`))

  it('finds two circles', () =>
    check(`detent 1
profile a based-on a { vector -1x }
                   ^ based-on-cycle
profile b based-on b { vector -1x }
                   ^ based-on-cycle
`))

  it('lets a chain pass', () =>
    check(`detent 1
profile noon { vector -1x }
        ^^^^ missing-key
profile dusk based-on noon { vector -1x }
profile dawn based-on dusk { vector -1x }
`))

  it('lets the profile stand alone', async () => {
    const noon = onBench('  steps { 1 to 4 cores 46x }', 'profile dusk based-on noon { vector -1x }')
    const text = await fixed('based-on-cycle', noon.replace('profile daily', 'profile noon based-on dusk'))
    expect(text).toContain('profile noon {')
  })
})
