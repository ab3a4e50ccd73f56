/** Files that mostly mean something: whole benches with values, lines and words changed by the grammar, some of them broken. */
import fc from 'fast-check'
import { places } from '../../grammar/vocabulary/index.ts'
import { anyFile, anyText, damaged, statement } from '../grammar/arbitrary.ts'
import { benches } from '../grammar/fixtures.ts'

/** Numbers at and beyond what anything can mean. */
const numbers = [
  ...['0', '1', '2', '3.5', '100', '1000', '1023', '1024', '1025', '65536', '999999999', '4294967296'],
  ...['9007199254740993', '0.0000001', '0.5', '99.999', `1${'0'.repeat(40)}`, `1${'0'.repeat(310)}`, '00012', '1,5'],
]
type Change =
  | { readonly kind: 'number'; readonly at: number; readonly text: string }
  | { readonly kind: 'delete' | 'double' | 'swap' | 'rename'; readonly at: number; readonly with: number }
  | { readonly kind: 'insert'; readonly at: number; readonly text: string }

const change: fc.Arbitrary<Change> = fc.oneof(
  {
    weight: 5,
    arbitrary: fc.record({ kind: fc.constant('number' as const), at: fc.nat(), text: fc.constantFrom(...numbers) }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constantFrom('delete' as const, 'double' as const, 'swap' as const, 'rename' as const),
      at: fc.nat(),
      with: fc.nat(),
    }),
  },
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant('insert' as const),
      at: fc.nat(),
      text: fc.constantFrom(...places).chain(place => statement(place, '  ', 2)),
    }),
  },
)

/** Replaces one of the matches of an expression, counted round. */
function replaceOne(text: string, expression: RegExp, pick: number, by: (found: string) => string): string {
  const all = [...text.matchAll(expression)]
  const found = all[pick % Math.max(1, all.length)]
  if (found === undefined) return text
  return text.slice(0, found.index) + by(found[0]) + text.slice(found.index + found[0].length)
}

function changed(text: string, one: Change): string {
  if (one.kind === 'number') return replaceOne(text, /\d+(?:\.\d+)?/g, one.at, () => one.text)
  const lines = text.split('\n')
  const at = one.at % lines.length
  const line = lines[at] as string
  switch (one.kind) {
    case 'insert':
      return lines.toSpliced(at, 0, one.text).join('\n')
    case 'delete':
      return lines.toSpliced(at, 1).join('\n')
    case 'double':
      return lines.toSpliced(one.with % lines.length, 0, line).join('\n')
    case 'swap': {
      const other = one.with % lines.length
      return lines
        .with(at, lines[other] as string)
        .with(other, line)
        .join('\n')
    }
    case 'rename': {
      const words = [...text.matchAll(/[a-z][a-z0-9-]*/g)].map(found => found[0])
      return replaceOne(text, /[a-z][a-z0-9-]*/g, one.at, () => words[one.with % words.length] ?? 'x')
    }
  }
}

/** A whole bench after some changes. */
export const livingFile: fc.Arbitrary<string> = fc
  .tuple(fc.constantFrom(...benches), fc.array(change, { maxLength: 8 }))
  .map(([text, changes]) => changes.reduce(changed, text))

export const someFile: fc.Arbitrary<string> = fc.oneof(
  { weight: 6, arbitrary: livingFile },
  { weight: 2, arbitrary: damaged(livingFile) },
  { weight: 2, arbitrary: anyFile },
  { weight: 1, arbitrary: anyText },
)

const cell = fc.oneof(
  { weight: 8, arbitrary: fc.double({ min: -50, max: 5000, noNaN: true }).map(value => value.toFixed(2)) },
  fc.constantFrom(
    '',
    ' ',
    '-',
    'N/A',
    '1,5',
    '1e400',
    '"',
    '"a;b"',
    '10:00:00',
    '2026-01-12 21:40:00',
    '12 V',
    '\u0000',
    '😀',
  ),
  fc.string({ maxLength: 12 }),
  fc.constantFrom(' ', '[', '1', '"').map(one => one.repeat(2_000)),
)
const headers = fc.constantFrom(
  'elapsed',
  'time',
  'package',
  'Core Clock [MHz]',
  'hot spot',
  'Date',
  'power (W)',
  '',
  '"',
  '😀',
)

/** Logs: mostly rows of numbers, some of them hostile, in any of the usual delimiters. */
export const someLog: fc.Arbitrary<string> = fc
  .tuple(
    fc.constantFrom(',', ';', '\t', '|', ' '),
    fc.constantFrom('\n', '\r\n', '\r'),
    fc.array(headers, { minLength: 1, maxLength: 5 }),
    fc.array(fc.array(cell, { maxLength: 6 }), { maxLength: 40 }),
  )
  .map(([mark, end, head, rows]) => [head, ...rows].map(cells => cells.join(mark)).join(end))
