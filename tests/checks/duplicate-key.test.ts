import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'

const checkKeys = checkerOf('duplicate-key')

describe('duplicate-key', () => {
  it('finds the one that does not count', () =>
    check(`detent 1
room loft {
  air 22 °C
  ^^^^^^^^^ duplicate-key
  humidity 50 %
  air 26 °C
}
`))

  it('lets keys pass that may stand twice, and the same key in two blocks', () =>
    check(`detent 1
room loft { air 22 °C; humidity 50 %; note "one"; note "two" }
room barn { air 22 °C; humidity 50 % }
`))

  it('leaves a line in error out of it', () =>
    check(`detent 1
room loft {
  air 22
      ^^ unit-missing
  humidity 50 %
  air 26 °C
}
`))

  it('removes it', async () => {
    const text = await fixed('duplicate-key', 'detent 1\nroom loft {\n  air 22 °C\n  humidity 50 %\n  air 26 °C\n}\n')
    expect(text).toBe('detent 1\nroom loft {\n  humidity 50 %\n  air 26 °C\n}\n')
  })

  it('finds a whole table that does not count', () =>
    checkKeys(`detent 1
profile daily {
  steps { 1 core 40x }
  ^^^^^ duplicate-key
  steps { 1 core 42x }
}
`))

  it('finds two rows for one point', async () => {
    const fixture = `detent 1
part willow {
  needs {
    30x 0.9 V
    30x 1.0 V
    ^^^^^^^^^ duplicate-key
    40x 1.1 V
  }
}
`
    const [finding] = await checkKeys(fixture)
    expect(finding?.message).toContain('Two rows for `30x`')
    expect(await fixed('duplicate-key', fixture, { title: 'Remove the row above' })).not.toContain('0.9 V')
  })

  it('is more severe in a radiator, with which nothing can be predicted then', async () => {
    const [finding] = await check(`detent 1
cooler pond kind loop {
  block-resistance 0.05 K/W
  radiator {
    20 % 0.05 K/W
    20 % 0.06 K/W
    ^^^^^^^^^^^^^ duplicate-key
  }
}
`)
    expect(finding?.severity).toBe('error')
  })

  it('finds two `set` lines for one ratio, and lets two ratios pass', () =>
    checkKeys(`detent 1
profile daily {
  voltage {
    set 50x 1.20 V
    set 50x 1.25 V
    ^^^^^^^^^^^^^^ duplicate-key
    set 48x 1.20 V
  }
}
`))

  it('finds a second version and a second use of one file', async () => {
    const fixture = `--- a.detent
detent 1
detent 1
^^^^^^^^ duplicate-key
use "b.detent"
use "./b.detent"
    ^^^^^^^^^^^^ duplicate-key
--- b.detent
detent 1
room loft { air 22 °C; humidity 50 % }
`
    await check(fixture)
    expect(await fixed('duplicate-key', fixture)).toBe('detent 1\nuse "b.detent"\nuse "./b.detent"\n')
  })
})
