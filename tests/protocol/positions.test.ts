/** Lines and columns of a parsed text, found through its chunks, beside those of the same text as a whole. */

import fc from 'fast-check'
import { expect, test } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { linesOf } from '../../server/lsp/positions.ts'

const piece = fc.constantFrom(
  'room loft {\n',
  '  air 20 °C\r\n',
  '}\n',
  'part p {',
  '\r',
  '\n\n',
  '# 🙂 é',
  '\nload l { cores 2 }\n',
)

test('a place of a parsed text is the place of its text', () => {
  fc.assert(
    fc.property(fc.array(piece, { maxLength: 24 }), pieces => {
      const text = pieces.join('')
      const [chunked, whole] = [linesOf(parseFile(text)), linesOf({ text })]
      for (let offset = -1; offset <= text.length + 1; offset++) {
        const position = whole.position(offset)
        expect(chunked.position(offset)).toEqual(position)
        expect(chunked.offset(position)).toBe(whole.offset(position))
      }
      const last = whole.position(text.length).line
      for (let line = 0; line <= last + 1; line++)
        for (const character of [0, 3, 400])
          expect(chunked.offset({ line, character })).toBe(whole.offset({ line, character }))
    }),
  )
})
