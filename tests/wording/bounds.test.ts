import { describe, expect, it } from 'vitest'
import { boundsText } from '../../server/wording/bounds.ts'

describe('boundsText', () => {
  it.each([
    [{ min: 1, max: 100 }, '%', 'at least 1 % and at most 100 %'],
    [{ above: 0 }, 'x', 'more than 0x'],
    [{ below: 4.5 }, '', 'less than 4.5'],
    [{ above: 0, max: 0.25 }, 'V', 'more than 0 V and at most 0.25 V'],
  ])('words %o', (bounds, unit, text) => {
    expect(boundsText(bounds, unit)).toBe(text)
  })
})
