import { describe, expect, it } from 'vitest'
import { check, checkerOf, fixed } from '../harness/check.ts'

const checkSyntax = checkerOf('syntax')

describe('syntax', () => {
  it('finds a number that does not read, and nothing else because of it', async () => {
    const [finding] = await check(`detent 1
room loft {
  air 22,5 °C
      ^^^^ syntax
  humidity 50 %
}
`)
    expect(finding?.message).toContain('`22,5` has a decimal comma')
  })

  it('lets the same line pass with a point', () =>
    check(`detent 1
room loft {
  air 22.5 °C
  humidity 50 %
}
`))

  it('mends it', async () => {
    expect(await fixed('syntax', 'detent 1\nroom loft { air 22,5 °C; humidity 50 % }\n')).toBe(
      'detent 1\nroom loft { air 22.5 °C; humidity 50 % }\n',
    )
  })

  it('finds what a line cannot hold, and takes it out', async () => {
    await checkSyntax(`detent 1
room loft {
  air 22 °C to 24 °C to 26 °C
                     ^^^^^^^^ syntax
  humidity 50 %
}
`)
    expect(await fixed('syntax', 'detent 1\nroom loft { air 22 °C to 24 °C 9; humidity 50 % }\n')).toContain(
      '{ air 22 °C to 24 °C; humidity',
    )
  })

  it('finds lost braces and quotes', async () => {
    await checkSyntax(`detent 1
note "half a text
     ^^^^^^^^^^^^ syntax
room loft {
          ^ syntax
  air 22 °C
room barn { air 22 °C; humidity 50 % }
`)
    const closed = await fixed('syntax', 'detent 1\nnote "half a text\n')
    expect(closed).toBe('detent 1\nnote "half a text"\n')
  })

  it('finds a count that is not whole', () =>
    checkSyntax(`detent 1
load weave { cores 2.5 }
                   ^^^ syntax
`))

  it('leaves no missing key beside a lost brace', () =>
    check(`detent 1
room loft {
          ^ syntax
  air 22 °C
room barn { air 22 °C; humidity 50 % }
`))
})
