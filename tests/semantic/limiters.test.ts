import { describe, expect, it } from 'vitest'
import { limitWords } from '../../grammar/vocabulary/index.ts'
import { isOwnRatio, limits, limitUnit } from '../../server/semantic/limiters.ts'

describe('the limits of a profile', () => {
  it('are those of the vocabulary, each with its facts', () => {
    expect(Object.keys(limits)).toEqual(limitWords)
  })

  it('hold a clock back by a limiter of their own', () => {
    const own = Object.values(limits).map(({ limiter }) => limiter)
    expect(new Set(own).size).toBe(own.length)
    for (const limiter of own) expect(isOwnRatio(limiter)).toBe(false)
  })

  it('are written in the unit of their form', () => {
    expect(limitWords.map(limitUnit)).toEqual(['°C', 'W', 'W', 'A'])
  })
})
