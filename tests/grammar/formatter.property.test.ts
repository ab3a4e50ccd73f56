import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { matchChunk } from '../../grammar/match.ts'
import { format, formatEdits } from '../../grammar/printer.ts'
import type { Match } from '../../grammar/values.ts'
import { anyFile, anyText, damaged, validFile } from './arbitrary.ts'
import { benches } from './fixtures.ts'
import { canonicalTokens, read, tokensOf } from './helpers.ts'

const formatted = (text: string): string => format(parseFile(text))
const linesOf = (text: string): string[] => text.split(/\r\n|\n|\r/)
const runs = { numRuns: Number(process.env.PROPERTY_RUNS ?? 400) }

/** The lines on which a problem of any kind stands, by their number from 0. */
function linesInError(text: string): Set<number> {
  const lines = new Set<number>()
  const note = (offset: number): void => void lines.add(linesOf(text.slice(0, offset)).length - 1)
  const { file } = read(text)
  for (const { start, chunk } of file.chunks) {
    for (const problem of chunk.problems) note(start + problem.start)
    const visit = (match: Match): void => {
      if (!match.sound && match.statement.items.length > 0) note(start + match.statement.start)
      match.children.forEach(visit)
    }
    matchChunk(chunk).forEach(visit)
  }
  return lines
}

const braceReasons = ['unclosed-block', 'stray-close', 'missing-open', 'nested-too-deep']

describe('formatting', () => {
  it('reads what the generator writes without an error', () => {
    fc.assert(
      fc.property(validFile, text => {
        const { file, matches } = read(text)
        expect(file.chunks.flatMap(({ chunk }) => chunk.problems)).toEqual([])
        expect(matches.flatMap(match => match.problems)).toEqual([])
      }),
      runs,
    )
  })

  it.each(benches)('leaves a formatted bench as it is', text => {
    expect(formatted(text)).toBe(text)
  })

  it('gives the same text a second time', () => {
    fc.assert(
      fc.property(fc.oneof(anyFile, anyText), text => {
        const once = formatted(text)
        expect(formatted(once)).toBe(once)
      }),
      runs,
    )
  })

  it('keeps tokens, comments and line ends', () => {
    fc.assert(
      fc.property(fc.oneof(anyFile, anyText), text => {
        const result = formatted(text)
        expect(canonicalTokens(result)).toEqual(canonicalTokens(text))
        expect(result.match(/\r\n|\n|\r/g)).toEqual(text.match(/\r\n|\n|\r/g))
      }),
      runs,
    )
  })

  it('keeps digits as they are written', () => {
    fc.assert(
      fc.property(validFile, text => {
        const numbers = (source: string): string[] =>
          tokensOf(source)
            .filter(token => token.kind === 'number')
            .map(token => token.text)
        expect(numbers(formatted(text))).toEqual(numbers(text))
      }),
      runs,
    )
  })

  it('leaves a line in error byte for byte', () => {
    fc.assert(
      fc.property(damaged(validFile), text => {
        const before = linesOf(text)
        const after = linesOf(formatted(text))
        for (const line of linesInError(text)) expect(after[line]).toBe(before[line])
      }),
      runs,
    )
  })

  it('leaves a definition whose braces do not balance', () => {
    fc.assert(
      fc.property(damaged(fc.oneof(validFile, fc.constantFrom(...benches))), text => {
        const file = parseFile(text)
        const edits = formatEdits(file)
        for (const { start, chunk } of file.chunks) {
          if (!chunk.problems.some(problem => braceReasons.includes(problem.reason))) continue
          expect(edits.filter(edit => edit.end > start && edit.start < start + chunk.text.length)).toEqual([])
        }
      }),
      runs,
    )
  })

  it('changes one line when one value changes', () => {
    fc.assert(
      fc.property(validFile, fc.nat(), fc.constantFrom('7', '123456', '0.0012', '88.25'), (text, pick, value) => {
        const once = formatted(text)
        const numbers = tokensOf(once).filter(token => token.kind === 'number')
        const token = numbers[pick % numbers.length]
        fc.pre(token !== undefined && token.text !== value)
        const changed = formatted(once.slice(0, token!.start) + value + once.slice(token!.end))
        const before = linesOf(once)
        const after = linesOf(changed)
        expect(after.length).toBe(before.length)
        expect(after.filter((line, index) => line !== before[index]).length).toBe(1)
      }),
      runs,
    )
  })
})
