import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { didYouMean, nearest, slipsBetween } from '../../grammar/nearest.ts'

describe('slipsBetween', () => {
  it.each([
    ['', '', 0],
    ['steps', 'steps', 0],
    ['stpes', 'steps', 1],
    ['step', 'steps', 1],
    ['stepps', 'steps', 1],
    ['stebs', 'steps', 1],
    ['', 'steps', 5],
    ['kitten', 'sitting', 3],
    // Two swapped letters with one between them are no single swap in this distance.
    ['ca', 'abc', 3],
  ])('%s to %s', (a, b, slips) => {
    expect(slipsBetween(a, b)).toBe(slips)
    expect(slipsBetween(b, a)).toBe(slips)
  })

  it('is nothing for equal words alone, and never more than the longer word', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 8 }), fc.string({ maxLength: 8 }), (a, b) => {
        const slips = slipsBetween(a, b)
        expect(slips === 0).toBe(a === b)
        expect(slips).toBeLessThanOrEqual(Math.max(a.length, b.length))
        expect(slips).toBeGreaterThanOrEqual(Math.abs(a.length - b.length))
      }),
    )
  })
})

describe('nearest', () => {
  it('puts the nearest first and leaves strangers out', () => {
    expect(nearest('vectr', ['vector', 'vectors', 'voltage'])).toEqual(['vector', 'vectors'])
    expect(nearest('zebra', ['vector', 'voltage'])).toEqual([])
  })

  it('does not take one short word for another', () => {
    expect(nearest('a', ['x', 'y'])).toEqual([])
  })

  it('offers those alone that are as near as the nearest', () => {
    expect(didYouMean('roon', ['room', 'roof', 'rooms'])).toEqual(['roof', 'room'])
  })
})
