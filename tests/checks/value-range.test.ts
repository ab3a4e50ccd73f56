import { describe, expect, it } from 'vitest'
import { check } from '../harness/check.ts'

describe('value-range', () => {
  it('finds a value that cannot be, says what could, and leaves the choice open', async () => {
    const [finding] = await check(`detent 1
room loft {
  air 22 °C
  humidity 150 %
           ^^^^^ value-range
}
`)
    expect(finding?.message).toContain('at least 1 % and at most 100 %')
    expect(finding?.fixes).toBeUndefined()
  })

  it('lets the bound itself pass', () => check('detent 1\nroom loft { air 22 °C; humidity 1 % to 100 % }\n'))

  it('finds a bound that is excluded', () =>
    check('detent 1\nload weave { cores 4; activity 0 }\n                               ^ value-range\n'))
})

describe('value-range of a module', () => {
  const module = (difference: string): string => `detent 1
cooler plate kind thermoelectric {
  modules 1
  module { at 27 °C; current 15 A; voltage 15.4 V; difference ${difference} }
  drive-current 5 A
  block-resistance 0.03 K/W
  radiator { 100 % 0.05 K/W }
  allow magnitude "to the edge"
}
`
  it('finds a difference that would lead below absolute zero', () =>
    check(
      module('301 K').replace(
        '301 K }',
        '301 K }\n                                                              ^^^^^ value-range',
      ),
    ))

  it('lets one pass that just does not', () => check(module('300.1 K')))
})
