/** Arbitrary files, drawn from the vocabulary itself, so that a new word is in every property at once. */

import fc from 'fast-check'
import { unitsOf } from '../../grammar/units/units.ts'
import { definitionWords, type Form, findWord, type Place, type Slot, wordsIn } from '../../grammar/vocabulary/index.ts'
import { benches } from './fixtures.ts'

const variants: Readonly<Record<string, readonly string[]>> = {
  '°C': ['°C', 'degC', '℃', 'ºC'],
  Ω: ['Ω', 'Ω', 'ohm'],
  mΩ: ['mΩ', 'mΩ', 'mohm'],
  µΩ: ['µΩ', 'μΩ', 'µohm'],
  µV: ['µV', 'μV'],
}

/** A piece of text and whether the next one may follow without white space. */
type Piece = string

const glue = ''
const name = fc.constantFrom('bench', 'cold-slab', 'k3', 'steps', 'trial-2-b', 'part', 'x')
const digits = fc.constantFrom('1', '2', '2.0', '2.50', '3', '1.125')
const text = fc.constantFrom('"plain"', '""', '"a ""quoted"" word"', '"# no comment { }"', '"µ ° 😀"')
const comment = fc.constantFrom('# a remark', '#', '# { " } ;', '# °C 😀  ')

/** White space that may stand between two pieces of one line. */
const gap = fc.constantFrom(' ', ' ', ' ', '  ', '\t', '\u00a0', '    ')
/** White space where none is needed. */
const looseGap = fc.constantFrom('', '', ' ', '  ')

function quantity(
  dimension: Parameters<typeof unitsOf>[0],
  number: fc.Arbitrary<string> = digits,
): fc.Arbitrary<readonly Piece[]> {
  const unit = fc
    .constantFrom(...unitsOf(dimension))
    .chain(found => fc.constantFrom(...(variants[found.symbol] ?? [found.symbol])))
  return fc.tuple(number, unit).map(([value, symbol]) => [value, glue, symbol])
}

function slotPieces(slot: Slot): fc.Arbitrary<readonly Piece[]> {
  switch (slot.slot) {
    case 'literal':
      return fc.constant([slot.word])
    case 'choice':
      return fc.constantFrom(...slot.words).map(word => [word])
    case 'quantity': {
      const plain = quantity(slot.dimension)
      if (slot.uncertain !== true) return plain
      const spread = fc
        .tuple(fc.constantFrom('±', '+-'), digits, fc.constantFrom('', '%'))
        .map(([sign, value, unit]): readonly Piece[] => (unit === '' ? [sign, value] : [sign, value, glue, unit]))
      return fc.oneof(
        plain,
        fc.tuple(plain, spread).map(([value, rest]) => [...value, ...rest]),
      )
    }
    case 'range': {
      const unit = unitsOf(slot.dimension)[0]?.symbol ?? ''
      const range = fc.constantFrom(['1', glue, unit, 'to', '2.5', glue, unit])
      return slot.single === true ? fc.oneof(range, fc.constant(['2', glue, unit])) : range
    }
    case 'number':
      if (slot.signed === true) return fc.constantFrom(['-', glue, '0.93'], ['−', glue, '1'], ['0.5'])
      return slot.whole === true ? fc.constantFrom('1', '2', '3').map(value => [value]) : digits.map(value => [value])
    case 'unit':
      return fc.constantFrom(...unitsOf(slot.dimension)).map(({ symbol }) => [symbol])
    case 'date':
      return fc.constantFrom(['2026-01-12'], ['2026-02-28', '21:40'])
    case 'part-name':
      return slot.after === true
        ? fc.oneof(
            fc.constant([]),
            name.map(one => [one]),
          )
        : name.map(one => [one])
    case 'count-range':
      return fc.constantFrom(['3'], ['1', 'to', '4'])
    case 'cores':
      return fc.constantFrom(
        ['3', 'cores'],
        ['1', 'to', '4', 'cores'],
        ['1', 'cores'],
        ['1', 'core'],
        ['100', 'to', '1024', 'cores'],
      )
    case 'signed': {
      const sign = fc.constantFrom(...[...slot.signs].flatMap(each => (each === '-' ? ['-', '−'] : [each])))
      return fc.tuple(sign, quantity(slot.dimension)).map(([each, value]) => [each, glue, ...value])
    }
    case 'reference':
    case 'defines':
      return name.map(word => [word])
    case 'string':
      return text.map(word => [word])
    case 'compare':
      return fc.constantFrom('>=', '<=', '≥', '≤').map(word => [word])
    case 'code':
      return fc.constantFrom('voltage-grid', 'frost').map(word => [word])
    case 'setting':
      return fc.constantFrom('core-voltage', 'vector').map(word => [word])
    case 'optional':
      return fc.oneof(fc.constant([]), slotsPieces(slot.slots))
    case 'any-order':
      return fc
        .shuffledSubarray([...slot.forms], { minLength: 1 })
        .chain(forms => fc.tuple(...forms.map(slotsPieces)).map(parts => parts.flat()))
  }
}

function slotsPieces(slots: readonly Slot[] | Form): fc.Arbitrary<readonly Piece[]> {
  return fc.tuple(...slots.map(slotPieces)).map(parts => parts.flat())
}

/** One line of text from pieces: white space between them, none or some at a `glue`. */
function joinPieces(pieces: readonly Piece[]): fc.Arbitrary<string> {
  return fc
    .tuple(
      fc.array(gap, { minLength: pieces.length, maxLength: pieces.length }),
      fc.array(looseGap, { minLength: pieces.length, maxLength: pieces.length }),
    )
    .map(([gaps, loose]) => {
      let line = ''
      let glued = true
      pieces.forEach((piece, index) => {
        if (piece === glue) {
          line += loose[index]
          glued = true
          return
        }
        line += (glued ? '' : gaps[index]) + piece
        glued = false
      })
      return line
    })
}

/** The text of one statement at a place, its block included. */
export function statement(place: Place, indent: string, depth: number): fc.Arbitrary<string> {
  const words = wordsIn(place).filter(word => depth < 3 || word.block === undefined)
  return fc.constantFrom(...words).chain(word => {
    const head = fc
      .constantFrom(...word.forms)
      .chain(slotsPieces)
      .chain(pieces => joinPieces(word.word === '' ? pieces : [word.word, ...pieces]))
    const inner = word.block
    if (inner === undefined) return head
    return fc.tuple(head, block(inner, indent, depth + 1)).map(([start, body]) => `${start} ${body}`)
  })
}

const lineEnd = fc.constantFrom('\n', '\n', '\n', '\r\n')

function block(place: Place, indent: string, depth: number): fc.Arbitrary<string> {
  const flat = wordsIn(place).every(word => word.block === undefined)
  const inOneLine = fc.array(statement(place, '', 3), { maxLength: 3 }).map(lines => `{ ${lines.join('; ')} }`)
  const own = fc.constantFrom(`${indent}  `, `${indent}  `, indent, `${indent}\t`, `${indent}     `)
  const inManyLines = own.chain(inside => {
    const line = fc.tuple(
      statement(place, inside, depth),
      fc.option(comment, { nil: undefined, freq: 4 }),
      fc.constantFrom('', '', ' '),
    )
    const rows = fc.array(fc.oneof({ weight: 8, arbitrary: line }, { weight: 1, arbitrary: fc.constant(undefined) }), {
      maxLength: 5,
    })
    return fc.tuple(rows, lineEnd, fc.option(comment, { nil: undefined, freq: 4 })).map(([lines, end, head]) => {
      const body = lines.map(each =>
        each === undefined ? end : `${inside}${each[0]}${each[1] === undefined ? '' : ` ${each[1]}`}${each[2]}${end}`,
      )
      return `{${head === undefined ? '' : ` ${head}`}${end}${body.join('')}${indent}}`
    })
  })
  return flat ? fc.oneof(inOneLine, inManyLines) : inManyLines
}

const definition = fc.constantFrom(...definitionWords).chain(kind => {
  const word = findWord('file', kind)
  if (word?.block === undefined) throw new Error(`${kind} is no definition.`)
  const inner = word.block
  const head = fc
    .constantFrom(...word.forms)
    .chain(slotsPieces)
    .chain(pieces => joinPieces([kind, ...pieces]))
  return fc.tuple(head, block(inner, '', 1)).map(([start, body]) => `${start} ${body}`)
})

const topLine = fc.constantFrom('', 'detent 1', '# a remark at the margin', 'use "more.detent"', 'note "free"', '  \t')

/** A file without syntax errors, in any layout that the language reads. */
export const validFile: fc.Arbitrary<string> = fc
  .tuple(
    fc.constantFrom('', '\ufeff'),
    fc.array(fc.oneof({ weight: 3, arbitrary: definition }, { weight: 1, arbitrary: topLine }), { maxLength: 6 }),
    lineEnd,
  )
  .map(([mark, parts, end]) => mark + parts.map(part => part + end).join(''))

const scrap = fc.constantFrom(
  '{',
  '}',
  ';',
  '"',
  '#',
  '\n',
  '\r\n',
  ' ',
  '-',
  '+',
  '±',
  ',',
  '.',
  '1',
  '57x',
  '°C',
  'µ',
  'Ω',
  '😀',
  '\u0000',
  'e5',
  '1,5',
  '.5',
  '5.',
  'Part',
  'profile p {',
  'steps',
  '>=',
  '<',
  '=',
  '/',
  '\u2028',
  '\ud800',
  '\ufeff',
  '_a',
  'é',
  'use "',
  '2026-01-02',
  '12:30',
  '\u0301',
  '\t',
)

/** A text with a few places where something was cut out, put in or doubled. */
export function damaged(source: fc.Arbitrary<string>): fc.Arbitrary<string> {
  const damage = fc.record({
    at: fc.nat(),
    remove: fc.constantFrom(0, 0, 1, 2, 5, 30),
    insert: fc.oneof(fc.constant(''), scrap),
  })
  return fc.tuple(source, fc.array(damage, { minLength: 1, maxLength: 6 })).map(([original, list]) => {
    let result = original
    for (const { at, remove, insert } of list) {
      const place = at % (result.length + 1)
      result = result.slice(0, place) + insert + result.slice(place + remove)
    }
    return result
  })
}

/** What a person may have in the editor: whole files, files in the middle of an edit, the benches with damage. */
export const anyFile: fc.Arbitrary<string> = fc.oneof(
  { weight: 4, arbitrary: validFile },
  { weight: 4, arbitrary: damaged(validFile) },
  { weight: 2, arbitrary: damaged(fc.constantFrom(...benches)) },
)

/** Any text at all: scraps of the language in any order, and any UTF-16. */
export const anyText: fc.Arbitrary<string> = fc.oneof(
  {
    weight: 3,
    arbitrary: fc
      .array(fc.oneof(scrap, fc.constantFrom('part', 'needs', 'bands', 'cores', 'load', 'above', 'to')), {
        maxLength: 60,
      })
      .map(list => list.join('')),
  },
  {
    weight: 2,
    arbitrary: fc
      .array(fc.oneof(scrap, fc.constantFrom('part', 'needs', 'bands', 'cores', 'load', 'above', 'to')), {
        maxLength: 60,
      })
      .map(list => list.join(' ')),
  },
  { weight: 2, arbitrary: fc.string({ unit: 'binary', maxLength: 80 }) },
  {
    weight: 1,
    arbitrary: fc
      .array(fc.integer({ min: 0, max: 0xffff }), { maxLength: 60 })
      .map(list => String.fromCharCode(...list)),
  },
)
