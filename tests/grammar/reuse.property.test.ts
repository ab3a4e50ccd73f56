import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import type { SourceFile } from '../../grammar/tree.ts'
import { anyFile, anyText } from './arbitrary.ts'
import { benches, loopBench, plateBench } from './fixtures.ts'

const runs = { numRuns: Number(process.env.PROPERTY_RUNS ?? 300) }

interface Edit {
  readonly at: number
  readonly remove: number
  readonly insert: string
}

const edit: fc.Arbitrary<Edit> = fc.record({
  at: fc.nat(),
  remove: fc.constantFrom(0, 0, 1, 2, 10, 200),
  insert: fc.oneof(fc.constantFrom('', '{', '}', '\n', ' ', 'load x {\n', '"', '#', '  '), anyText),
})

function apply(text: string, { at, remove, insert }: Edit): string {
  const place = at % (text.length + 1)
  return text.slice(0, place) + insert + text.slice(place + remove)
}

describe('parsing with an earlier version at hand', () => {
  it('equals parsing afresh after any edits', () => {
    fc.assert(
      fc.property(
        fc.oneof(anyFile, fc.constantFrom(...benches)),
        fc.array(edit, { minLength: 1, maxLength: 8 }),
        (original, edits) => {
          let text = original
          let file = parseFile(text)
          for (const each of edits) {
            text = apply(text, each)
            file = parseFile(text, file)
            expect(file).toEqual(parseFile(text))
          }
        },
      ),
      runs,
    )
  })

  it('takes every chunk again whose text is the same', () => {
    fc.assert(
      fc.property(anyFile, edit, (text, each) => {
        const before = parseFile(text)
        const after = parseFile(apply(text, each), before)
        const left = new Map<string, number>()
        for (const { chunk } of before.chunks) left.set(chunk.text, (left.get(chunk.text) ?? 0) + 1)
        const known = new Set(before.chunks.map(({ chunk }) => chunk))
        for (const { chunk } of after.chunks.filter(one => known.has(one.chunk)))
          left.set(chunk.text, (left.get(chunk.text) ?? 0) - 1)
        // One that was made again had no other left to be taken.
        for (const { chunk } of after.chunks.filter(one => !known.has(one.chunk)))
          expect(left.get(chunk.text) ?? 0).toBe(0)
        // No chunk stands twice in a file: what is kept for a chunk must belong to one place.
        expect(new Set(after.chunks.map(({ chunk }) => chunk)).size).toBe(after.chunks.length)
      }),
      runs,
    )
  })

  it('parses one definition when one value changes', () => {
    const text = plateBench + loopBench.slice('detent 1\n'.length)
    const before = parseFile(text)
    const after = parseFile(text.replace('air 17 °C', 'air 16.5 °C'), before)
    const fresh = (file: SourceFile): string[] =>
      file.chunks
        .filter(({ chunk }) => !before.chunks.some(old => old.chunk === chunk))
        .map(({ chunk }) => chunk.text.split(' {')[0]!)
    expect(fresh(after)).toEqual(['room shed'])
    expect(after.chunks.length).toBe(before.chunks.length)
  })
})
