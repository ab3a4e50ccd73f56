import { describe, expect, it } from 'vitest'
import { check } from '../harness/check.ts'

describe('use-missing', () => {
  it('finds a path that leads nowhere, and reports no unknown names as well', async () => {
    const [finding] = await check(`detent 1
use "moved.detent"
    ^^^^^^^^^^^^^^ use-missing
profile daily { part willow; cooler pond; room loft; steps { 1 core 40x } }
`)
    expect(finding?.message).toContain('There is no file `moved.detent`')
    expect(finding?.fixes).toBeUndefined()
  })

  it('lets a path pass that leads to a file, in another folder too', () =>
    check(`--- a.detent
detent 1
use "benches/b.detent"
--- benches/b.detent
detent 1
room loft { air 22 °C; humidity 50 % }
`))
})
