/** The language reference as Markdown: the hand-written parts with everything that the tables know between them. */

import { describeBounds, describeForms, describeSlot, effectText } from './describe.ts'
import { baseUnit, type Dimension, dimensionName, unitsOf } from './units/units.ts'
import {
  defaultText,
  findWord,
  menuSettings,
  type Place,
  places,
  type Slot,
  spreadText,
  standsEverywhere,
  vocabulary,
  type Word,
  wordsIn,
} from './vocabulary/index.ts'
import { isSingle, singleSlots } from './vocabulary/slots.ts'

/** Variants of a unit that are read as well; the rule behind them is in `canonicalUnit`. */
function variantsOf(symbol: string): string[] {
  if (symbol.includes('°C')) return [symbol.replace('°C', 'degC'), symbol.replace('°C', '℃')]
  return symbol.includes('Ω') ? [symbol.replace('Ω', 'ohm')] : []
}

function code(text: string): string {
  return `\`${text}\``
}

/** A table whose columns line up in the source, too. */
function table(header: readonly string[], rows: readonly (readonly string[])[]): string {
  const widths = header.map((title, column) =>
    Math.max(...[title, ...rows.map(row => row[column] ?? '')].map(cell => [...cell].length)),
  )
  const line = (cells: readonly string[]): string =>
    `| ${cells.map((cell, column) => cell + ' '.repeat((widths[column] ?? 0) - [...cell].length)).join(' | ')} |`
  return [line(header), line(widths.map(width => '-'.repeat(width))), ...rows.map(line)].join('\n')
}

function unitTable(): string {
  const rows = (Object.keys(baseUnit) as Dimension[]).map(dimension => {
    const units = unitsOf(dimension)
    const variants = units.flatMap(unit => variantsOf(unit.symbol))
    const name = dimensionName[dimension].replace(/^an? /, '')
    return [name, units.map(unit => code(unit.symbol)).join(', '), variants.map(code).join(', ')]
  })
  return table(['what', 'units', 'read as well'], rows)
}

/** What the reference says about the values of a word, beyond its form: bounds, and whether `±` may follow. */
function slotNotes(slots: readonly Slot[]): string[] {
  return slots.flatMap(slot => {
    if (!isSingle(slot)) return slotNotes(singleSlots([slot]))
    const notes: string[] = []
    if (slot.slot === 'setting') notes.push(`one of ${menuSettings.map(code).join(', ')}`)
    if ('bounds' in slot && slot.bounds !== undefined)
      notes.push(describeBounds(slot.bounds, 'dimension' in slot ? baseUnit[slot.dimension] : ''))
    if ('uncertain' in slot && slot.uncertain === true) notes.push('`± …` may follow')
    const name =
      slot.slot === 'signed' ? describeSlot(slot).replace(/^\S*?(?=[A-Z])|^\S+ /, '') : describeSlot(slot).split(' ')[0]
    return notes.length === 0 ? [] : [`${name}: ${notes.join('; ')}`]
  })
}

/**
 * Where the reference describes a word: the part behind `#` in a link to it.
 * @param word a key word, or the empty word for the rows of a place's table
 */
function wordAnchor(place: Place, word: string): string {
  const found = findWord(place, word)
  const where = found !== undefined && standsEverywhere(found) ? 'everywhere' : placeTitle(place)
  return `${where}-${word === '' ? 'rows' : word}`
}

function placeTitle(place: Place): string {
  return place === 'file' ? 'top' : place
}

function linkSections(source: string): string {
  return source
    .replace(/model sections (\d+), (\d+) and (\d+)/, 'model sections $1, model section $2 and model section $3')
    .replace(/model sections (\d+) and (\d+)/, 'model section $1 and model section $2')
    .replace(/model sections? (\d+)/g, '[model section $1](#model-section-$1)')
}

function presence(word: Word): string | undefined {
  if (word.required === true)
    return word.kinds === undefined ? 'Must be given.' : `Must be given for ${kindsText(word)}.`
  const left = defaultText(word)
  if (left === undefined) return undefined
  const worth = spreadText(word)
  return `Where it is left out: ${/^[\d-]/.test(left) ? code(left) : left}${worth === undefined ? '' : `, ${worth}`}.`
}

function kindsText(word: Word): string {
  return (word.kinds ?? []).map(kind => code(`kind ${kind}`)).join(', ')
}

function wordSection(place: string, word: Word): string {
  const [first = '', ...others] = describeForms(word)
  const parts: string[] = [`#### ${place}: ${word.word === '' ? 'rows' : word.word}`]
  parts.push([first, ...others].map(form => code(form)).join('  \n'))
  parts.push(word.means)
  const facts: string[] = []
  const given = presence(word)
  if (given !== undefined) facts.push(given)
  if (word.kinds !== undefined && word.required !== true) facts.push(`For ${kindsText(word)}.`)
  if (word.many === true && word.block === undefined) facts.push('May stand several times.')
  const effect = effectText(word)
  if (effect !== undefined) facts.push(effect)
  for (const note of new Set(word.forms.flatMap(slotNotes))) facts.push(`${note}.`)
  const usual = Object.entries(word.usual ?? {})
  for (const [slot, { text, source }] of usual)
    facts.push(`Usual${usual.length > 1 ? `, \`${slot}\`` : ''}: ${text} (${source}).`)
  facts.push(`Example: ${code(word.example)}`)
  if (word.source !== undefined) facts.push(`Source: ${linkSections(word.source)}.`)
  if (word.caution !== undefined) facts.push(`**Caution:** ${word.caution}`)
  parts.push(facts.map(fact => `- ${fact}`).join('\n'))
  return parts.join('\n\n')
}

/** The heads that open a place, in words. */
function openedBy(place: Place): string {
  if (place === 'file') return 'Statements outside of any block.'
  const heads = vocabulary
    .filter(word => word.block === place)
    .map(word => `${code(word.word)}${word.in.includes('file') ? '' : ` in ${word.in.map(code).join(', ')}`}`)
  return `What stands in ${heads.join(', ')}.`
}

function placeSection(place: Place): string {
  const words = wordsIn(place).filter(word => !standsEverywhere(word))
  const title = place === 'file' ? '### Top level' : `### ${code(place)}`
  const rows = words.map(word => {
    const link = `[${word.word === '' ? 'rows' : code(word.word)}](#${wordAnchor(place, word.word)})`
    return [link, word.means.replaceAll('|', '\\|')]
  })
  return [
    title,
    openedBy(place),
    table(['word', 'meaning'], rows),
    ...words.map(word => wordSection(placeTitle(place), word)),
  ].join('\n\n')
}

function everywhereSection(): string {
  const words = wordsIn('file').filter(standsEverywhere)
  return ['### In every block', 'At the top level, too.', ...words.map(word => wordSection('everywhere', word))].join(
    '\n\n',
  )
}

const howToRead = `## Words

Each word is described once for the block in which it stands. In the forms, words in small letters are written as they
stand, values are in capitals, brackets hold what may be left out, and \`|\` parts alternatives.`

/**
 * The whole reference.
 * @param introduction Markdown that comes first, with the title
 * @param model Markdown that comes last, with the sections that the sources name
 */
export function languageReference(introduction: string, model: string): string {
  const parts = [
    '<!-- Written by `npm run generate` from the vocabulary and the texts beside this file. -->',
    introduction.trim(),
    '## Units',
    unitTable(),
    howToRead,
    ...places.map(placeSection),
    everywhereSection(),
    model.trim(),
  ]
  return `${parts.join('\n\n')}\n`
}
