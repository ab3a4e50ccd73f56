import { describe, expect, it } from 'vitest'
import { check, fixed } from '../harness/check.ts'

const circle = `--- a.detent
detent 1
use "b.detent"
    ^^^^^^^^^^ use-cycle
--- b.detent
detent 1
use "c.detent"
    ^^^^^^^^^^ use-cycle
--- c.detent
detent 1
use "a.detent"
    ^^^^^^^^^^ use-cycle
`

describe('use-cycle', () => {
  it('finds a file that uses itself', async () => {
    await check('detent 1\nuse "a.detent"\n    ^^^^^^^^^^ use-cycle\n')
    expect(await fixed('use-cycle', 'detent 1\nuse "a.detent"\n')).toBe('detent 1\n')
  })

  it('finds a circle of several, at each line that is part of it', () => check(circle))

  it('lets two ways to one file pass', () =>
    check(`--- a.detent
detent 1
use "b.detent"
use "c.detent"
--- b.detent
detent 1
use "c.detent"
--- c.detent
detent 1
`))

  it('breaks the circle', async () => {
    expect(await fixed('use-cycle', circle)).toBe('detent 1\n')
  })
})
