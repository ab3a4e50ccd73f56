import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'
import { soundBench } from '../harness/sound-bench.ts'

const checkUnused = checkerOf('unused-name')
const sound = soundBench.replace('--- bench.detent\n', '')
const profile = 'profile daily {\n  part willow-4\n  cooler pond-loop\n  room loft\n  steps { 1 to 4 cores 46x }\n}\n'

describe('unused-name', () => {
  it('finds a room that no profile names', () =>
    check(`${sound}
${profile}
room barn { air 22 °C; humidity 50 % }
     ^^^^ unused-name
`))

  it('lets a bench pass that every definition of is named; loads are run by all', () => check(`${sound}\n${profile}`))

  it('removes it', async () => {
    const text = await fixed('unused-name', `${sound}\n${profile}room barn { air 22 °C; humidity 50 % }\n`)
    expect(text).toBe(`${sound}\n${profile}`)
  })

  it('is silent in a file without a profile, and in one that others use', async () => {
    await checkUnused(sound)
    await checkUnused(`--- a.detent
detent 1
use "b.detent"
--- b.detent
${sound}
${profile}
room barn { air 22 °C; humidity 50 % }
`)
  })

  it('is silent where the name may be meant by a misspelt one', () =>
    check(`${sound}
${profile.replace('room loft', 'room lofft\n       ^^^^^ unknown-name')}
`))

  it('counts a name from `based-on` profiles too', () =>
    checkUnused(`${sound}
${profile}
room barn { air 22 °C; humidity 50 % }
profile barn-day based-on daily { room barn }
`))

  it('is a hint', async () => {
    const [finding] = await checkUnused(
      `${sound}\n${profile}room barn { air 2 °C; humidity 5 % }\n     ^^^^ unused-name\n`,
    )
    expect(finding?.severity).toBe('hint')
  })
})
