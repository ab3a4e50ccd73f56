import { describe, expect, it } from 'vitest'
import { lineNumbersText } from '../../server/cli/lines.ts'

describe('numbers of lines', () => {
  it('are all named where nothing else is asked for', () => {
    expect(lineNumbersText([7])).toBe('line 7')
    expect(lineNumbersText([7, 9])).toBe('lines 7 and 9')
    expect(lineNumbersText([1, 2, 3, 4, 5])).toBe('lines 1, 2, 3, 4 and 5')
  })

  it('are counted where there are many more than a reader looks at', () => {
    expect(lineNumbersText([1, 2, 3], 3)).toBe('lines 1, 2 and 3')
    expect(lineNumbersText([1, 2, 3, 4], 3)).toBe('lines 1, 2, 3 and 4')
    expect(lineNumbersText([1, 2, 3, 4, 5], 3)).toBe('lines 1, 2, 3 and 2 more')
  })
})
