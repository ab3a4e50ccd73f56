import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseFile } from '../../grammar/file.ts'
import { matchChunk } from '../../grammar/match.ts'
import { format } from '../../grammar/printer.ts'
import { type Block, chunkAt, type Statement } from '../../grammar/tree.ts'
import { growthOf } from '../harness/work.ts'
import { anyFile, anyText, damaged } from './arbitrary.ts'
import { benches } from './fixtures.ts'

const runs = { numRuns: Number(process.env.PROPERTY_RUNS ?? 1500) }

/** In place of `expect`, which would take most of the time of these properties: it is asked some million times. */
function holds(condition: boolean, what: string): void {
  if (!condition) throw new Error(`does not hold: ${what}`)
}

/** Spans lie within their parents, in order and without overlap. */
function checkStatements(statements: readonly Statement[], start: number, end: number): void {
  let at = start
  for (const statement of statements) {
    holds(statement.start >= at, 'statement.start >= at')
    holds(statement.end >= statement.start, 'statement.end >= statement.start')
    let inner = statement.start
    for (const item of statement.items) {
      holds(item.start >= inner, 'item.start >= inner')
      holds(item.end > item.start, 'item.end > item.start')
      inner = item.end
    }
    const block: Block | undefined = statement.block
    if (block !== undefined) {
      holds(block.start >= inner, 'block.start >= inner')
      checkStatements(block.statements, block.start, block.end)
      inner = block.end
    }
    holds(statement.end >= inner, 'statement.end >= inner')
    at = statement.end
  }
  holds(at <= end, 'at <= end')
}

function checkTree(text: string): void {
  const file = parseFile(text)
  expect(file.chunks.map(({ chunk }) => chunk.text).join('')).toBe(text)
  for (const { start, chunk } of file.chunks) {
    holds(text.startsWith(chunk.text, start), 'a chunk stands where it starts')
    // Tokens are in order, and only white space lies between them.
    let at = 0
    for (const token of chunk.tokens) {
      holds(chunk.text.slice(at, token.start).trim() === '', 'only white space between tokens')
      holds(chunk.text.slice(token.start, token.end) === token.text, 'a token has its text')
      at = token.end
    }
    holds(chunk.text.slice(at).trim() === '', 'only white space after the last token')
    checkStatements(chunk.statements, 0, chunk.text.length)
    let last = 0
    for (const problem of chunk.problems) {
      holds(problem.start >= last, 'problem.start >= last')
      holds(problem.end <= chunk.text.length, 'problem.end <= chunk.text.length')
      last = problem.start
    }
    for (const match of matchChunk(chunk))
      for (const problem of match.problems) holds(problem.end <= chunk.text.length, 'problem.end <= chunk.text.length')
  }
  format(file)
}

describe('any text', () => {
  it('gives a tree that covers it', () => {
    fc.assert(fc.property(fc.oneof(anyText, anyFile, damaged(anyText)), checkTree), runs)
  })

  it('is found again by offset', () => {
    fc.assert(
      fc.property(anyFile, fc.nat(), (text, pick) => {
        const file = parseFile(text)
        const offset = pick % (text.length + 1)
        const { start, chunk } = chunkAt(file, offset)
        expect(offset).toBeGreaterThanOrEqual(start)
        expect(offset).toBeLessThanOrEqual(start + chunk.text.length)
      }),
      { numRuns: 300 },
    )
  })

  it('reports whatever is not well formed', () => {
    fc.assert(
      fc.property(anyText, text => {
        const { chunks } = parseFile(text)
        for (const { chunk } of chunks) {
          const odd = chunk.tokens.filter(token => token.kind === 'unknown')
          const told = chunk.problems.filter(problem => problem.reason === 'unknown-character')
          expect(told.map(problem => problem.start)).toEqual(odd.map(token => token.start))
        }
      }),
      { numRuns: 500 },
    )
  })
})

/** Long enough for what is quadratic to take minutes. */
const long = 100_000

describe('long input', () => {
  const inputs: readonly (readonly [string, (size: number) => string])[] = [
    ['an unclosed string', size => `note "${'a'.repeat(size)}`],
    ['an unclosed string of quotes', size => `note ${'"'.repeat(size + 1)}`],
    ['many unclosed strings', size => 'part "\n'.repeat(size / 5)],
    ['one long word', size => `part ${'a-'.repeat(size / 2)}`],
    ['one long number', size => `cores ${'1.'.repeat(size / 2)}`],
    ['digits and commas', size => `cores ${'1,'.repeat(size / 2)}`],
    ['a number before a long word', size => `cores 1 ${'W'.repeat(size)}`],
    ['numbers with half units', size => '1 K/'.repeat(size / 4)],
    ['one long line of rows', size => `part a { ${'1x 2 V; '.repeat(size / 8)}`],
    ['open braces', size => 'part a {'.repeat(size / 8)],
    ['open braces alone', size => '{'.repeat(size)],
    ['closing braces', size => '}'.repeat(size)],
    ['closing braces on lines', size => '}\n'.repeat(size / 2)],
    ['braces in pairs', size => '{}'.repeat(size / 2)],
    [
      'nested lines',
      size => Array.from({ length: Math.sqrt(size * 1.6) }, (_, depth) => `${' '.repeat(depth)}steps {\n`).join(''),
    ],
    ['block words before blank lines', size => `${'steps\n'.repeat(size / 10)}${'\n'.repeat(size)}`],
    ['definitions at the margin', size => 'part a\n'.repeat(size / 7)],
    ['definitions before blank lines', size => `part a\n${'\n'.repeat(size)}  cores 1\n`.repeat(2)],
    ['definitions that open', size => 'part a {\n'.repeat(size / 9)],
    ['equal definitions', size => 'load a { cores 2 }\n'.repeat(size / 19)],
    ['white space', size => `part ${' '.repeat(size)}a ${'\t'.repeat(size)}{`],
    ['white space after definition words', size => `part${' '.repeat(20)}\n`.repeat(size / 25)],
    ['carriage returns', size => '\r'.repeat(size)],
    ['signs', size => '+-'.repeat(size / 2)],
    ['unknown characters', size => '.'.repeat(size)],
    ['unknown characters on lines', size => `part a {\n${'? 1,5\n'.repeat(size / 6)}`],
    ['surrogate pairs', size => '😀'.repeat(size / 2)],
    ['lone surrogates', size => '\udc00'.repeat(size)],
    ['a long comment', size => `cores 1 #${' {"'.repeat(size / 3)}`],
    ['a line longer than any column', size => `note "${'a'.repeat(size)}" # b`],
    ['unknown heads in each other', size => `${'a {\n'.repeat(60)}${'cores 2\n'.repeat(size / 8)}`],
  ]

  it.each(inputs)('of %s is read, matched and formatted', (_, textOf) => {
    const text = textOf(long)
    const file = parseFile(text)
    for (const { chunk } of file.chunks) matchChunk(chunk)
    format(file)
    parseFile(`${text} `, file)
    expect(file.text).toBe(text)
  })

  it('takes work in proportion to its length', async () => {
    const growths = await growthOf(
      'read',
      inputs.map(([, textOf]) => textOf),
      3_000,
      4,
    )
    for (const [at, growth] of growths.entries()) expect(growth, inputs[at]?.[0]).toBeLessThan(7)
  })
})

describe('a text that is being typed', () => {
  it('gives a tree at every length', () => {
    for (const bench of benches) for (let at = 0; at < bench.length; at += 7) checkTree(bench.slice(0, at))
  })
})
