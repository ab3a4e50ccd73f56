import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { removalSpan } from '../../server/checks/support/edits.ts'

/** Removes the second statement of a room. */
function removed(text: string): string {
  const chunk = parseFile(text).chunks[0]?.chunk
  const statement = chunk?.statements[0]?.block?.statements[1]
  if (chunk === undefined || statement === undefined) throw new Error('no second statement')
  const { start, end } = removalSpan(chunk, statement)
  return text.slice(0, start) + text.slice(end)
}

describe('removalSpan', () => {
  it.each([
    ['a line of its own', 'room a {\n  x 1\n  y 2\n  z 3\n}\n', 'room a {\n  x 1\n  z 3\n}\n'],
    ['a line with a comment', 'room a {\n  x 1\n  y 2   # so\n}\n', 'room a {\n  x 1\n  # so\n}\n'],
    ['a line with another behind it', 'room a {\n  x 1\n  y 2; z 3\n}\n', 'room a {\n  x 1\n  z 3\n}\n'],
    ['the middle of a line', 'room a { x 1; y 2; z 3 }\n', 'room a { x 1; z 3 }\n'],
    ['the end of a line', 'room a { x 1; y 2 }\n', 'room a { x 1 }\n'],
    ['the last line of a file', 'room a {\n  x 1\n  y 2', 'room a {\n  x 1\n'],
    ['a line that ends as on another system', 'room a {\r\n  x 1\r\n  y 2\r\n}\r\n', 'room a {\r\n  x 1\r\n}\r\n'],
    ['a block of several lines', 'room a {\n  x 1\n  y {\n    w 1\n  }\n}\n', 'room a {\n  x 1\n}\n'],
  ])('%s', (_, before, after) => {
    expect(removed(before)).toBe(after)
  })
})
