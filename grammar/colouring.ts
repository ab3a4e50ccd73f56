/**
 * The TextMate grammar for syntax colouring, from the vocabulary. Every pattern ends with its line, so that a
 * half-typed line or a lost brace colours nothing but itself; what a word means by its block is left to the
 * semantic tokens of the language server.
 */

import { units } from './units/units.ts'
import { definitionWords, type Slot, vocabulary } from './vocabulary/index.ts'
import { isSingle, singleSlots } from './vocabulary/slots.ts'

interface Rule {
  readonly name?: string
  readonly match?: string
  readonly include?: string
  readonly begin?: string
  readonly end?: string
  readonly captures?: Readonly<Record<string, { readonly name: string }>>
  readonly beginCaptures?: Readonly<Record<string, { readonly name: string }>>
  readonly endCaptures?: Readonly<Record<string, { readonly name: string }>>
  readonly patterns?: readonly Rule[]
}

const name = '[\\p{L}_][\\p{L}\\p{N}_]*(?:-[\\p{L}\\p{N}_]+)*'
/** A word ends where no name would go on. */
const wordEnd = '(?![\\p{L}\\p{N}_]|-[\\p{L}\\p{N}_])'
/** The first word of a statement: at the beginning of a line, behind a brace or a semicolon. */
const statementStart = '(?:^|(?<=[{};]))[\\s\\uFEFF]*'

function anyOf(words: Iterable<string>): string {
  const escaped = [...new Set(words)].map(word => word.replace(/[.*+?^${}()|[\]\\/]/g, '\\$&'))
  return `(?:${escaped.sort((a, b) => b.length - a.length || (a < b ? -1 : 1)).join('|')})`
}

function allSlots(): Slot[] {
  return vocabulary.flatMap(word => word.forms.flatMap(singleSlots))
}

/** Literal words that end every form in which they stand are values (`drive full`), the others are key words. */
function literals(): { keys: string[]; values: string[] } {
  const ends = new Map<string, boolean>()
  for (const { forms } of vocabulary) {
    for (const form of forms) {
      form.forEach((slot, index) => {
        if (slot.slot === 'literal') ends.set(slot.word, (ends.get(slot.word) ?? true) && index === form.length - 1)
        if (!isSingle(slot))
          for (const inner of singleSlots([slot])) if (inner.slot === 'literal') ends.set(inner.word, false)
      })
    }
  }
  const words = [...ends]
  return {
    keys: ['to', ...words.filter(([, end]) => !end).map(([word]) => word)],
    values: words.filter(([, end]) => end).map(([word]) => word),
  }
}

/** Key words that a name of a definition follows, other than the definitions themselves. */
function referring(): string[] {
  return vocabulary
    .filter(word => word.word !== '' && word.forms.some(form => form[0]?.slot === 'reference'))
    .map(word => word.word)
}

/** Key words behind which the name of a group or rail may stand, and the words that may stand there without one. */
function naming(): { words: string[]; others: string[] } {
  const words = vocabulary.filter(({ forms }) => forms.some(([first]) => first?.slot === 'part-name'))
  const names = new Set(words.map(({ word }) => word))
  const others = vocabulary
    .filter(({ word }) => names.has(word))
    .flatMap(({ forms }) => forms.flatMap(form => form.find(({ slot }) => slot !== 'part-name') ?? []))
    .flatMap(slot => (slot.slot === 'literal' ? [slot.word] : slot.slot === 'choice' ? slot.words : []))
  return { words: [...names], others }
}

/** What is asked of one group by its name: words before such a name that are no key word. */
function asked(): string[] {
  return vocabulary.flatMap(({ word, forms }) =>
    forms.flatMap(form => {
      const at = form.findIndex(slot => slot.slot === 'part-name')
      const before = word === '' || at < 1 ? undefined : form[at - 1]
      return before?.slot === 'literal' ? [before.word] : before?.slot === 'choice' ? before.words : []
    }),
  )
}

/** A unit's symbol with its variants, as a pattern. */
function unitPattern(): string {
  const degree = '(?:[°º]C|degC|℃)'
  const micro = '[\\u00B5\\u03BC]'
  const ohm = '(?:[\\u03A9\\u2126]|[Oo]hm)'
  const symbols = units.map(unit => unit.symbol).filter(symbol => symbol !== 'x' && symbol !== '%')
  const pattern = anyOf(symbols).replaceAll('°C', degree).replaceAll('\u00b5', micro).replaceAll('\u03a9', ohm)
  return `%|x(?!\\p{L})|${pattern}(?![\\p{L}\\p{N}_]|-\\p{L})`
}

/**
 * A comment typed between an opening brace and the closing one that the editor set with it. That one is coloured as a
 * brace: editors hide braces within comments from their rules for Enter, which puts this one on a line of its own.
 */
const commentBeforeBrace: Rule = {
  begin: '\\{(?=[^{}"#]*(?:"[^"]*"[^{}"#]*)*#[^{}]*\\}\\s*$)',
  end: '$',
  beginCaptures: { 0: { name: 'punctuation.section.block.begin.detent' } },
  patterns: [
    {
      match: '(#[^{}]*)(\\})\\s*$',
      captures: {
        1: { name: 'comment.line.number-sign.detent' },
        2: { name: 'punctuation.section.block.end.detent' },
      },
    },
    { include: '$self' },
  ],
}

function rules(): readonly Rule[] {
  const { keys, values } = literals()
  const choices = allSlots().flatMap(slot => (slot.slot === 'choice' ? slot.words : []))
  const keyWords = vocabulary.map(word => word.word).filter(word => word !== '')
  const kinds = anyOf(definitionWords)
  const { words: named, others } = naming()
  const groupName = 'variable.other.reference.detent'
  return [
    commentBeforeBrace,
    { name: 'comment.line.number-sign.detent', match: '#.*$' },
    {
      name: 'string.quoted.double.detent',
      begin: '"',
      end: '"(?!")|$',
      patterns: [{ name: 'constant.character.escape.detent', match: '""' }],
    },
    {
      match: `${statementStart}(${kinds})\\s+(${name})(?=[^#;{}"]*\\{)`,
      captures: { 1: { name: 'storage.type.definition.detent' }, 2: { name: 'entity.name.type.definition.detent' } },
    },
    {
      match: `(based-on)\\s+(${name})`,
      captures: { 1: { name: 'keyword.other.detent' }, 2: { name: 'entity.other.inherited-class.detent' } },
    },
    {
      match: `(of)\\s+(${name})(?:\\s+(under)(?:\\s+(${name}))?)?`,
      captures: {
        1: { name: 'keyword.other.detent' },
        2: { name: 'variable.other.reference.detent' },
        3: { name: 'keyword.other.detent' },
        4: { name: 'variable.other.reference.detent' },
      },
    },
    {
      match: `${statementStart}(${anyOf(referring())})${wordEnd}(?:\\s+(${name}))?`,
      captures: { 1: { name: 'keyword.other.detent' }, 2: { name: 'variable.other.reference.detent' } },
    },
    {
      match: `${statementStart}(${anyOf(named)})${wordEnd}\\s+(?!${anyOf(others)}${wordEnd})(${name})`,
      captures: { 1: { name: 'keyword.other.detent' }, 2: { name: groupName } },
    },
    {
      match: `(${anyOf(asked())})${wordEnd}\\s+(${name})(?=\\s*[<>≤≥])`,
      captures: { 1: { name: 'keyword.other.detent' }, 2: { name: groupName } },
    },
    {
      match: `${statementStart}(allow)${wordEnd}(?:\\s+(${name}))?`,
      captures: { 1: { name: 'keyword.other.detent' }, 2: { name: 'constant.other.check.detent' } },
    },
    { match: `${statementStart}(${anyOf(keyWords)})${wordEnd}`, captures: { 1: { name: 'keyword.other.detent' } } },
    { name: 'constant.other.date.detent', match: '\\d{4}-\\d{2}-\\d{2}(?!\\d)|\\d{1,2}:\\d{2}(?!\\d)' },
    {
      name: 'invalid.illegal.number.detent',
      match:
        '\\d+(?:\\.\\d+)?[eE][+-]?\\d+|\\d+(?:,\\d+)+(?:\\.\\d+)?|\\d+\\.\\d+(?:[.,]\\d+)+|(?<![\\p{L}\\p{N}_])[.,]\\d+',
    },
    {
      match: `(\\d+(?:\\.\\d+)?)(?:\\s*(${unitPattern()}))?`,
      captures: { 1: { name: 'constant.numeric.detent' }, 2: { name: 'keyword.other.unit.detent' } },
    },
    // A unit alone stands behind the header of a log's column.
    { match: `(?<=")[^\\S\\r\\n]*(${unitPattern()})`, captures: { 1: { name: 'keyword.other.unit.detent' } } },
    { name: 'keyword.operator.uncertainty.detent', match: '±|\\+[-\\u2212]' },
    { name: 'keyword.operator.comparison.detent', match: '>=|<=|≥|≤' },
    { name: 'keyword.operator.sign.detent', match: '[+\\-\\u2212]' },
    { name: 'punctuation.section.block.begin.detent', match: '\\{' },
    { name: 'punctuation.section.block.end.detent', match: '\\}' },
    { name: 'punctuation.terminator.statement.detent', match: ';' },
    { name: 'keyword.other.unit.detent', match: `cores?${wordEnd}` },
    { name: 'keyword.other.detent', match: `${anyOf(keys)}${wordEnd}` },
    { name: 'constant.language.detent', match: `${anyOf([...choices, ...values])}${wordEnd}` },
    // A whole word at once, so that nothing within it is taken for a number or a word of its own.
    { match: name },
  ]
}

/** The grammar as the data of `detent.tmLanguage.json`. */
export function textMateGrammar(): object {
  return {
    $schema: 'https://raw.githubusercontent.com/martinring/tmlanguage/master/tmlanguage.json',
    information_for_contributors: ['Written by `npm run generate` from the vocabulary.'],
    name: 'Detent',
    scopeName: 'source.detent',
    fileTypes: ['detent'],
    patterns: rules(),
  }
}
