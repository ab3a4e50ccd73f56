/** What is inserted for a word: its example line with the values to fill in, or its block. */

import { parseFile } from '../../../grammar/file.ts'
import { fillForm } from '../../../grammar/slots.ts'
import type { Item, Statement } from '../../../grammar/tree.ts'
import type { DefinitionKind, Place, Slot, Word } from '../../../grammar/vocabulary/index.ts'

export interface Insertion {
  /** Plain text, for editors without snippets. */
  readonly text: string
  /** The same with places to fill in. */
  readonly snippet: string
}

const needsEscape = /[\\$}]/g
const needsEscapeInChoice = /[\\$},|]/g

function choices(index: number, words: readonly string[]): string {
  return `\${${index}|${words.map(word => word.replace(needsEscapeInChoice, '\\$&')).join(',')}|}`
}

function slotOf(word: Word, statement: Statement, place: Place): (index: number) => Slot | undefined {
  const skip = word.word === '' ? 0 : 1
  for (const form of word.forms) {
    const fill = fillForm(form, statement, skip, place)
    if (fill.problems.length === 0) return index => fill.slots.find(({ from, to }) => index >= from && index < to)?.slot
  }
  return () => undefined
}

/** An example line as a snippet: its numbers, names and strings are places to fill in. */
function exampleSnippet(word: Word, place: Place, names: (kind: DefinitionKind) => readonly string[]): string {
  const source = parseFile(word.example)
  const chunk = source.chunks[0]?.chunk
  const statement = chunk?.statements[0]
  if (chunk === undefined || statement === undefined) return word.example
  const slotAt = slotOf(word, statement, place)
  let text = ''
  let at = 0
  let count = 0
  const fill = (item: Item, slot: Slot | undefined): string => {
    if (item.kind === 'number') {
      const unit = chunk.text.slice(item.number.end, item.end)
      return `\${${++count}:${item.number.text}}${unit}`
    }
    if (item.kind === 'string') return `"\${${++count}:${item.text.replace(needsEscape, '\\$&')}}"`
    if (item.kind === 'word' && slot?.slot === 'choice') {
      return choices(++count, [item.text, ...slot.words.filter(other => other !== item.text)])
    }
    if (item.kind === 'word' && slot?.slot === 'reference') {
      const known = names(slot.kind)
      return known.length > 0 ? choices(++count, known) : `\${${++count}:${item.text}}`
    }
    return chunk.text.slice(item.start, item.end)
  }
  statement.items.forEach((item, index) => {
    text += chunk.text.slice(at, item.start) + fill(item, slotAt(index))
    at = item.end
  })
  return text
}

/** A head with an open block behind it. */
function blockSnippet(word: Word, names: (kind: DefinitionKind) => readonly string[]): Insertion {
  const [shortest = []] = [...word.forms].sort((a, b) => a.length - b.length)
  const form = shortest.filter(slot => slot.slot !== 'part-name' || slot.after !== true)
  let count = 0
  const parts = form.map(slot => {
    if (slot.slot === 'literal') return slot.word
    if (slot.slot === 'choice') return choices(++count, slot.words)
    if (slot.slot === 'string') return `"\${${++count}:${slot.name}}"`
    const known = slot.slot === 'reference' ? names(slot.kind) : []
    if (known.length > 0) return choices(++count, known)
    return `\${${++count}:name}`
  })
  const head = [word.word, ...parts].join(' ')
  const plainParts = form.map(slot =>
    slot.slot === 'literal'
      ? slot.word
      : slot.slot === 'choice'
        ? slot.words[0]
        : slot.slot === 'string'
          ? `"${slot.name}"`
          : 'name',
  )
  return { snippet: `${head} {\n\t$0\n}`, text: `${[word.word, ...plainParts].join(' ')} {\n}` }
}

/**
 * What accepting a word inserts.
 * @param names the names of a kind that can be seen, offered where the word refers to one
 */
export function insertionOf(word: Word, place: Place, names: (kind: DefinitionKind) => readonly string[]): Insertion {
  if (word.block !== undefined) return blockSnippet(word, names)
  const snippet = exampleSnippet(word, place, names)
  return { snippet, text: `${word.word} ` }
}
