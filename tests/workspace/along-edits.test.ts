/** Lists along the edits of a file are what would be made afresh, and an edit makes little of them again. */

import { expect, it } from 'vitest'
import type { Chunk } from '../../grammar/tree.ts'
import { alongEdits } from '../../server/workspace/along-edits.ts'
import { createWorkspace } from '../../server/workspace/workspace.ts'

const room = (name: string): string => `room ${name} { air 20 °C }\n`
const uri = 'file:///bench/rooms.detent'

function bench() {
  const workspace = createWorkspace({ read: async () => undefined })
  let version = 0
  return (...names: readonly string[]) => workspace.set(uri, names.map(room).join(''), ++version)
}

it('makes again what an edit touched, and nothing else', () => {
  const edited = bench()
  const along = alongEdits<string>()
  let made: string[] = []
  const make = ({ text }: Chunk): string => {
    made.push(text)
    return text.trim()
  }
  const of = (names: readonly string[], rest: unknown = 0): readonly string[] => {
    made = []
    const list = along(edited(...names), [rest], make)
    expect(list).toEqual(names.map(name => room(name).trim()))
    return list
  }
  const first = of(['a', 'b', 'c', 'd'])
  expect(made).toHaveLength(4)
  expect(of(['a', 'b', 'c', 'd'])).toBe(first)
  expect(made).toEqual([])
  of(['a', 'x', 'c', 'd'])
  expect(made).toEqual([room('x')])
  of(['a', 'x', 'y', 'c', 'd'])
  expect(made).toEqual([room('y')])
  of(['a', 'd'])
  expect(made).toEqual([])
  of(['a', 'a', 'a', 'd'])
  of(['a', 'a', 'd'])
  of(['d', 'a'])
  of(['d', 'a'], 1)
  expect(made).toHaveLength(2)
})

it('makes again what is open', () => {
  const edited = bench()
  const along = alongEdits<{ readonly isOpen: boolean }>(({ isOpen }) => isOpen)
  let count = 0
  const list = (isOpen: boolean) =>
    along(edited('a', 'b'), [], () => {
      count++
      return { isOpen }
    })
  list(true)
  list(false)
  expect(count).toBe(4)
  list(false)
  expect(count).toBe(4)
})
