import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { beforeAll, describe, expect, it } from 'vitest'
import oniguruma from 'vscode-oniguruma'
import textmate, { type IGrammar, type StateStack } from 'vscode-textmate'
import { units } from '../../grammar/units/units.ts'
import { builtInLoads, definitionWords, vocabulary } from '../../grammar/vocabulary/index.ts'
import { benches, loopBench, plateBench } from './fixtures.ts'

const grammarFile = new URL('../../grammar/syntaxes/detent.tmLanguage.json', import.meta.url).pathname
let grammar: IGrammar

beforeAll(async () => {
  await oniguruma.loadWASM(readFileSync(createRequire(import.meta.url).resolve('vscode-oniguruma/release/onig.wasm')))
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: patterns => new oniguruma.OnigScanner(patterns),
      createOnigString: text => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => textmate.parseRawGrammar(readFileSync(grammarFile, 'utf8'), grammarFile),
  })
  grammar = (await registry.loadGrammar('source.detent'))!
})

interface Coloured {
  readonly text: string
  /** The innermost scope without the language's own name. */
  readonly scope: string
}

function colour(line: string, state: StateStack = textmate.INITIAL): { tokens: Coloured[]; end: StateStack } {
  const { tokens, ruleStack } = grammar.tokenizeLine(line, state)
  const coloured = tokens.map(({ startIndex, endIndex, scopes }) => ({
    text: line.slice(startIndex, endIndex),
    scope: scopes.at(-1)!.replace(/\.detent$/, ''),
  }))
  return { tokens: coloured, end: ruleStack }
}

/** The coloured pieces of a line as `text:scope`, white space and plain text left out. */
function check(line: string, ...expected: string[]): void {
  const { tokens, end } = colour(line)
  const seen = tokens
    .filter(({ text, scope }) => text.trim() !== '' && scope !== 'source')
    .map(({ text, scope }) => `${text.trim()}:${scope}`)
  expect(seen).toEqual(expected)
  expect(end.depth).toBe(textmate.INITIAL.depth)
}

const key = 'keyword.other'
const number = 'constant.numeric'
const unit = 'keyword.other.unit'
const begin = '{:punctuation.section.block.begin'
const end = '}:punctuation.section.block.end'

describe('colours', () => {
  it('comments', () => {
    check('cores 12   # of "them" 5 V', `cores:${key}`, `12:${number}`, '# of "them" 5 V:comment.line.number-sign')
  })

  it('names of groups and rails behind their word', () => {
    const named = (text: string): string => `${text}:variable.other.reference`
    check('group tall {', `group:${key}`, named('tall'), begin)
    check('steps tall {', `steps:${key}`, named('tall'), begin)
    check('bands tall return 2 K {', `bands:${key}`, named('tall'), `return:${key}`, `2:${number}`, `K:${unit}`, begin)
    check('bands return 2 K {', `bands:${key}`, `return:${key}`, `2:${number}`, `K:${unit}`, begin)
    check('core tall needs', `core:${key}`, named('tall'), `needs:${key}`)
    check('core needs', `core:${key}`, `needs:${key}`)
    check('set tall 50x 1.2 V', `set:${key}`, named('tall'), `50:${number}`, `x:${unit}`, `1.2:${number}`, `V:${unit}`)
    check('load-line side 1 mΩ', `load-line:${key}`, named('side'), `1:${number}`, `mΩ:${unit}`)
    check('vector yes', `vector:${key}`, 'yes:constant.language')
    check(
      'expect mix holds tall >= 5 GHz',
      `expect:${key}`,
      named('mix'),
      `holds:${key}`,
      named('tall'),
      '>=:keyword.operator.comparison',
      `5:${number}`,
      `GHz:${unit}`,
    )
  })

  it('a closing brace that the editor set behind a comment, which Enter takes from there', () => {
    const comment = (text: string): string => `${text}:comment.line.number-sign`
    check('needs { # what held}', `needs:${key}`, begin, comment('# what held'), end)
    check(
      'note "{ # }" # b}',
      `note:${key}`,
      '":string.quoted.double',
      '{ # }:string.quoted.double',
      '":string.quoted.double',
      comment('# b}'),
    )
    check(
      'part p { cores 12 # six of "them"}',
      'part:storage.type.definition',
      'p:entity.name.type.definition',
      begin,
      `cores:${key}`,
      `12:${number}`,
      comment('# six of "them"'),
      end,
    )
    check('cores { 2 } # a}', `cores:${key}`, begin, `2:${number}`, end, comment('# a}'))
    check('needs { # the set {a}', `needs:${key}`, begin, comment('# the set {a}'))
    check('# needs { # b}', comment('# needs { # b}'))
  })

  it('units alone, behind the header of a column', () => {
    check(
      'column die "hot spot" °C # x',
      `column:${key}`,
      'die:constant.language',
      '":string.quoted.double',
      'hot spot:string.quoted.double',
      '":string.quoted.double',
      `°C:${unit}`,
      '# x:comment.line.number-sign',
    )
  })

  it('definitions and their names', () => {
    check('part sample-b7 {', 'part:storage.type.definition', 'sample-b7:entity.name.type.definition', begin)
    check(
      'cooler big-loop kind loop { # x',
      'cooler:storage.type.definition',
      'big-loop:entity.name.type.definition',
      `kind:${key}`,
      'loop:constant.language',
      begin,
      '# x:comment.line.number-sign',
    )
    check(
      'profile night based-on daily { drive off }',
      'profile:storage.type.definition',
      'night:entity.name.type.definition',
      `based-on:${key}`,
      'daily:entity.other.inherited-class',
      begin,
      `drive:${key}`,
      'off:constant.language',
      end,
    )
  })

  it('names that are referred to', () => {
    check('  part sample-b7', `part:${key}`, 'sample-b7:variable.other.reference')
    check(
      '  expect render holds >= 4.7 GHz for 12 min',
      `expect:${key}`,
      'render:variable.other.reference',
      `holds:${key}`,
      '>=:keyword.operator.comparison',
      `4.7:${number}`,
      `GHz:${unit}`,
      `for:${key}`,
      `12:${number}`,
      `min:${unit}`,
    )
    check(
      '  allow voltage-grid "it rounds"',
      `allow:${key}`,
      'voltage-grid:constant.other.check',
      '":string.quoted.double',
      'it rounds:string.quoted.double',
      '":string.quoted.double',
    )
  })

  it('numbers with their units', () => {
    check(
      'switching 1.6nF ± 3 %',
      `switching:${key}`,
      `1.6:${number}`,
      `nF:${unit}`,
      '±:keyword.operator.uncertainty',
      `3:${number}`,
      `%:${unit}`,
    )
    check(
      '    1 to 2 cores   above 38 °C  -1x',
      `1:${number}`,
      `to:${key}`,
      `2:${number}`,
      `cores:${unit}`,
      `above:${key}`,
      `38:${number}`,
      `°C:${unit}`,
      '-:keyword.operator.sign',
      `1:${number}`,
      `x:${unit}`,
    )
    check(
      'leakage 16 W at 1.20 V 60 degC',
      `leakage:${key}`,
      `16:${number}`,
      `W:${unit}`,
      `at:${key}`,
      `1.20:${number}`,
      `V:${unit}`,
      `60:${number}`,
      `degC:${unit}`,
    )
  })

  it('numbers without one', () => {
    check('activity 0.9', `activity:${key}`, `0.9:${number}`)
    check('x 5 holds', `5:${number}`, `holds:${key}`)
    check('x 5 min-power', `5:${number}`)
  })

  it('signs and comparisons', () => {
    check('core needs + 10 mV', `core:${key}`, `needs:${key}`, '+:keyword.operator.sign', `10:${number}`, `mV:${unit}`)
    check(
      'a ≤ b ≥ c <= d +- e \u2212 f',
      '≤:keyword.operator.comparison',
      '≥:keyword.operator.comparison',
      '<=:keyword.operator.comparison',
      '+-:keyword.operator.uncertainty',
      '\u2212:keyword.operator.sign',
    )
  })

  it('texts', () => {
    check(
      'note "say ""yes"" # 5 V"',
      `note:${key}`,
      '":string.quoted.double',
      'say:string.quoted.double',
      '"":constant.character.escape',
      'yes:string.quoted.double',
      '"":constant.character.escape',
      '# 5 V:string.quoted.double',
      '":string.quoted.double',
    )
    check('note ""', `note:${key}`, '":string.quoted.double', '":string.quoted.double')
  })

  it('key words at the beginning of a statement only', () => {
    check(
      '{ cores 2; activity 0.9 }',
      begin,
      `cores:${key}`,
      `2:${number}`,
      ';:punctuation.terminator.statement',
      `activity:${key}`,
      `0.9:${number}`,
      end,
    )
    check('  room fan', `room:${key}`, 'fan:variable.other.reference')
    check('part-two cores-b')
  })

  it('numbers that do not read', () => {
    for (const text of ['1,5', '.5', '2e3', '1.2.3', '1,000.5']) check(`x ${text}`, `${text}:invalid.illegal.number`)
  })

  it('dates and times', () => {
    check('x 2026-03-01 12:30', '2026-03-01:constant.other.date', '12:30:constant.other.date')
  })
})

describe('every word of the tables', () => {
  it('has a colour where it stands', () => {
    for (const word of vocabulary.filter(each => each.word !== '')) {
      const [first] = colour(word.example).tokens
      expect(first).toEqual({
        text: word.word,
        scope: expect.stringMatching(/^(keyword\.other|storage\.type\.definition)$/),
      })
    }
  })

  it('has a colour as a unit', () => {
    for (const { symbol } of units) {
      for (const gap of ['', ' '])
        expect(colour(`x 1${gap}${symbol}`).tokens.at(-1)).toEqual({ text: symbol, scope: unit })
    }
  })

  it('defines a name', () => {
    for (const kind of definitionWords)
      expect(colour(`${kind} x9 {`).tokens[2]).toEqual({ text: 'x9', scope: 'entity.name.type.definition' })
    for (const load of builtInLoads)
      expect(colour(`expect ${load} power <= 5 W`).tokens[2]).toEqual({ text: load, scope: 'variable.other.reference' })
  })
})

describe('whole benches', () => {
  it('leave nothing but names without a colour', () => {
    for (const bench of benches) {
      for (const line of bench.split('\n')) {
        for (const { text, scope } of colour(line).tokens) {
          expect(scope).not.toMatch(/^invalid/)
          if (text.trim() !== '') expect([line, text, scope]).not.toEqual([line, text, 'source'])
        }
      }
    }
  })

  it('colour no line by the one before, however far it is typed', () => {
    for (const line of [...plateBench.split('\n'), ...loopBench.split('\n')]) {
      for (let length = 0; length <= line.length; length++) {
        const { end: state } = colour(line.slice(0, length))
        expect(state.depth).toBe(textmate.INITIAL.depth)
        expect(colour('part sample-b7 {', state).tokens[0]?.scope).toBe('storage.type.definition')
      }
    }
  })

  it('keep the colours of what is typed already', () => {
    for (const line of plateBench.split('\n')) {
      const whole = colour(line).tokens
      const half = colour(line.slice(0, line.lastIndexOf(' '))).tokens
      // The last two pieces may still change their meaning with what follows.
      for (const [index, token] of half.slice(0, -2).entries()) {
        if (!line.includes('{')) expect(token).toEqual(whole[index])
      }
    }
  })

  // What backtracks for ever never gets to the end of the line.
  it.each([
    `note "${'a"'.repeat(5_000)}`,
    `part ${'a-'.repeat(5_000)}`,
    `part a${' b'.repeat(5_000)}`,
    '1.'.repeat(5_000),
    '1,'.repeat(5_000),
    '{ part a '.repeat(1_000),
    `x${' '.repeat(10_000)}`,
  ])('colour a long line to its end', text => {
    expect(
      colour(text)
        .tokens.map(one => one.text)
        .join(''),
    ).toBe(text)
  })
})
