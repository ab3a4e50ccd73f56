import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { lex } from '../../grammar/tokens.ts'
import type { TokenKind } from '../../grammar/tree.ts'
import { units } from '../../grammar/units/units.ts'
import { doubts } from '../harness/expressions.ts'
import { benches } from './fixtures.ts'

interface LanguageConfiguration {
  readonly comments: { readonly lineComment: string }
  readonly brackets: readonly (readonly [string, string])[]
  readonly autoClosingPairs: readonly {
    readonly open: string
    readonly close: string
    readonly notIn: readonly string[]
  }[]
  readonly autoCloseBefore: string
  readonly surroundingPairs: readonly (readonly [string, string])[]
  readonly folding: { readonly markers: { readonly start: string; readonly end: string } }
  readonly indentationRules: { readonly increaseIndentPattern: string; readonly decreaseIndentPattern: string }
  readonly wordPattern: { readonly pattern: string; readonly flags: string }
  readonly onEnterRules: readonly {
    readonly beforeText: string
    readonly afterText: string
    readonly action: { readonly indent: string; readonly appendText: string }
  }[]
}

const configuration = JSON.parse(
  readFileSync(new URL('../../grammar/language-configuration.json', import.meta.url), 'utf8'),
) as LanguageConfiguration

function kinds(text: string): TokenKind[] {
  return lex(text).tokens.map(token => token.kind)
}

const lines = [
  ...benches.flatMap(bench => bench.split('\n')),
  'note "a { in a text"',
  'note "a } in a text" # {',
  'load a { cores 2 }',
  'part a { needs { 1x 1 V }',
  '} # {',
  '# {',
  '',
]

describe('the language configuration', () => {
  it('begins comments as the lexer does', () => {
    expect(kinds(`${configuration.comments.lineComment} x`)).toEqual(['comment'])
  })

  it('has the brackets of the lexer', () => {
    for (const [open, close] of configuration.brackets) expect(kinds(`${open} ${close}`)).toEqual(['open', 'close'])
  })

  it('closes what the lexer knows as a pair', () => {
    for (const { open, close, notIn } of configuration.autoClosingPairs) {
      expect(lex(`${open}${close}`).problems).toEqual([])
      expect(notIn).toEqual(['string', 'comment'])
    }
    expect(configuration.surroundingPairs).toEqual(
      configuration.autoClosingPairs.map(({ open, close }) => [open, close]),
    )
    // Closing only before what can follow a value keeps a quote before a word single.
    for (const character of configuration.autoCloseBefore)
      expect(kinds(`"a"${character}`).slice(1)).not.toContain('word')
  })

  it('indents behind a line that opens a block', () => {
    const increase = new RegExp(configuration.indentationRules.increaseIndentPattern)
    for (const line of lines) {
      const braces = kinds(line).filter(kind => kind === 'open' || kind === 'close')
      expect([line, increase.test(line)]).toEqual([line, braces.at(-1) === 'open'])
    }
  })

  it('takes back the indent of a line that begins with a closing brace', () => {
    const decrease = new RegExp(configuration.indentationRules.decreaseIndentPattern)
    for (const line of lines) expect([line, decrease.test(line)]).toEqual([line, kinds(line)[0] === 'close'])
  })

  it('sees the words that the lexer sees', () => {
    const { pattern, flags } = configuration.wordPattern
    for (const bench of benches) {
      const words = new Set(
        [...bench.matchAll(new RegExp(pattern, `g${flags}`))].map(match => `${match.index}:${match[0]}`),
      )
      for (const token of lex(bench).tokens) {
        if (token.kind === 'word' || token.kind === 'number') expect(words).toContain(`${token.start}:${token.text}`)
      }
    }
  })

  it('goes on with a comment that is split, and only there', () => {
    const [rule] = configuration.onEnterRules
    const splits = (before: string, after: string): boolean =>
      new RegExp(rule!.beforeText).test(before) && new RegExp(rule!.afterText).test(after)
    expect(splits('  # one ', 'two')).toBe(true)
    expect(splits('  # one two', '')).toBe(false)
    expect(splits('  cores 2 # one ', 'two')).toBe(false)
    expect(kinds(`${rule!.action.appendText}two`)).toEqual(['comment'])
  })

  it('takes the closing brace out of a comment behind the opening one, and from nowhere else', () => {
    const [, rule] = configuration.onEnterRules
    const opens = (before: string, after: string): boolean =>
      new RegExp(rule!.beforeText).test(before) && new RegExp(rule!.afterText).test(after)
    expect(rule!.action.indent).toBe('indentOutdent')
    expect(opens('  needs {        # what held', '}')).toBe(true)
    expect(opens('  menu "a" {  # what held', '  }')).toBe(true)
    expect(opens('  needs {', '}')).toBe(false)
    expect(opens('  load a { cores 2 } # {', '}')).toBe(false)
    expect(opens('  # needs {', '}')).toBe(false)
    expect(opens('  note "{ #"', '}')).toBe(false)
  })

  it('sees a unit as one word, so that an editor asks again when it is whole', () => {
    const { pattern, flags } = configuration.wordPattern
    for (const { symbol } of units)
      expect([symbol, symbol.match(new RegExp(pattern, flags))?.[0]]).toEqual([symbol, symbol])
    for (const word of ['>=', '<=', '±']) expect(word.match(new RegExp(pattern, flags))?.[0]).toBe(word)
    // A path is no unit.
    expect('logs/heavy'.match(new RegExp(pattern, flags))?.[0]).toBe('logs')
    expect('K/Watt'.match(new RegExp(pattern, flags))?.[0]).toBe('K')
  })

  it('folds between marked comments', () => {
    const { start, end } = configuration.folding.markers
    expect(new RegExp(start).test('  # region cooling')).toBe(true)
    expect(new RegExp(end).test('  # endregion')).toBe(true)
    expect(new RegExp(start).test('  # regional')).toBe(false)
    expect(kinds('  # region cooling')).toEqual(['comment'])
  })

  it('has patterns in which no part trades characters with another', () => {
    const { increaseIndentPattern, decreaseIndentPattern } = configuration.indentationRules
    const sources = [
      increaseIndentPattern,
      decreaseIndentPattern,
      ...configuration.onEnterRules.map(rule => rule.beforeText),
    ]
    const { pattern, flags } = configuration.wordPattern
    const patterns = [...sources.map(source => ({ source, flags: '' })), { source: pattern, flags }]
    expect(patterns.flatMap(one => doubts(one))).toEqual([])
    for (const text of ['"'.repeat(20_001), 'a"'.repeat(10_001), ' '.repeat(20_000), 'a-'.repeat(10_000)])
      for (const { source, flags: own } of patterns) expect(() => new RegExp(source, own).test(text)).not.toThrow()
  })
})
