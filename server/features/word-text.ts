/** What the vocabulary says of a word. */

import { describeForms, effectText } from '../../grammar/describe.ts'
import type { Match } from '../../grammar/values.ts'
import { defaultText, spreadText, type Word } from '../../grammar/vocabulary/index.ts'
import { entries, text } from '../semantic/definitions.ts'
import { code, escaped, paragraphs } from './markdown.ts'

/** The forms of a word, its meaning, its caution, and facts on it, each by itself. */
export function wordParts(word: Word): {
  readonly forms: string
  readonly means: string
  readonly caution: string | undefined
  readonly facts: string
} {
  const spread = spreadText(word)
  const facts = [
    word.default === undefined
      ? undefined
      : `Default: ${defaultText(word)}${spread === undefined ? '' : `, ${spread}`}.`,
    effectText(word),
    word.source === undefined ? undefined : `Source: ${word.source}.`,
  ]
  return {
    // Two spaces end a line in Markdown; a line of its own keeps many forms readable.
    forms: describeForms(word).map(code).join('  \n'),
    // The vocabulary's own lines use backquotes on purpose.
    means: word.means,
    caution: cautionText(word),
    facts: facts.filter(fact => fact !== undefined).join(' '),
  }
}

/** Meaning, form, default, source and caution of a word. */
export function wordText(word: Word): string {
  const { forms, means, caution, facts } = wordParts(word)
  return paragraphs(forms, means, facts, caution)
}

function cautionText(word: Word): string | undefined {
  return word.caution === undefined ? undefined : `**Caution:** ${word.caution}`
}

/** The notes and sources that a block carries. */
export function remarks(block: Match): string | undefined {
  const lines = (['note', 'source'] as const).flatMap(word =>
    entries(block, word).map(
      match => `${word === 'note' ? 'Note' : 'Source'}: ${escaped(text(match, 'text')?.text ?? '')}`,
    ),
  )
  return lines.length === 0 ? undefined : lines.join('\n\n')
}

/** Defaults that took the place of values that are not stated. */
export function assumedText(assumed: readonly string[]): string | undefined {
  return assumed.length === 0 ? undefined : `Assumed: ${[...new Set(assumed)].map(code).join(', ')}.`
}
