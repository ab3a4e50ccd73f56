import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { stateIn } from '../../server/checks/support/physics-edits.ts'
import { type Definition, readChunk } from '../../server/semantic/definitions.ts'
import { applyEdits } from '../../server/service.ts'

/** A profile's text with a setting stated in it. */
function stated(text: string, word: 'limits' | 'voltage' | undefined, line: string): string {
  const { chunks } = parseFile(text)
  const own = chunks.flatMap(({ chunk }) => readChunk(chunk).definitions)[0] as Definition
  const edit = stateIn(own, word, line)
  const base = chunks.find(({ chunk }) => chunk === own.chunk)?.start ?? 0
  if (edit === undefined) return text
  const result = applyEdits(text, [{ start: base + edit.start, end: base + edit.end, text: edit.text }])
  const again = parseFile(result)
  expect(again.chunks.flatMap(({ chunk }) => chunk.problems)).toEqual([])
  return result
}

describe('a setting stated again', () => {
  it('stands at the end of a profile of many lines', () => {
    expect(stated('profile p {\n  vector -1x  # so\n}\n', undefined, 'drive full')).toBe(
      'profile p {\n  vector -1x  # so\n  drive full\n}\n',
    )
  })

  it('makes its block where there is none', () => {
    expect(stated('profile p {\n  vector -1x\n}\n', 'limits', 'die 90 °C')).toBe(
      'profile p {\n  vector -1x\n  limits {\n    die 90 °C\n  }\n}\n',
    )
  })

  it('stands in its block where there is one', () => {
    expect(stated('profile p {\n  limits {\n    die 90 °C\n  }\n}\n', 'limits', 'current 90 A')).toBe(
      'profile p {\n  limits {\n    die 90 °C\n    current 90 A\n  }\n}\n',
    )
    expect(stated('profile p {\n  limits { die 90 °C }\n}\n', 'limits', 'current 90 A')).toBe(
      'profile p {\n  limits { die 90 °C; current 90 A }\n}\n',
    )
  })

  it('stays on the line of a profile of one line', () => {
    expect(stated('profile p based-on q { vector -1x }\n', 'voltage', 'core needs')).toBe(
      'profile p based-on q { vector -1x; voltage { core needs } }\n',
    )
    expect(stated('profile p based-on q { }\n', undefined, 'drive full')).toBe('profile p based-on q { drive full }\n')
  })

  it('follows what stands before a brace on its own line', () => {
    expect(stated('profile p {\n  vector -1x }\n', undefined, 'drive full')).toBe(
      'profile p {\n  vector -1x \n  drive full\n}\n',
    )
  })
})
