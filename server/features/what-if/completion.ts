/** Completion in the field of What If: as in a profile that starts from the one asked about, or in a definition. */

import type { Completion, CompletionTrigger } from '../completion/types.ts'
import { statementsOf } from './statements.ts'

/** Definitions that a field may begin with, beside what stands in a profile. */
const definitions = ['part', 'cooler', 'room', 'board', 'load', 'course'] as const
const definitionHead = /^(?:part|cooler|room|board|load|course)\b[^\n]*\{/

/** A text with the statement at the cursor in it, as the language has it. */
export interface FieldInFile {
  readonly text: string
  readonly offset: number
  /** What is taken from an offset of this text to give one of the field. */
  readonly shift: number
  /** Whether words of definitions may stand here as well. */
  readonly isStart: boolean
}

/**
 * @param file the text of the file that is asked about
 * @param profile the profile asked about, where it is one
 */
export function fieldInFile(file: string, profile: string | undefined, field: string, offset: number): FieldInFile {
  const statement = statementsOf(field).findLast(
    ({ text, start }) => start <= offset && !field.slice(start + text.length, offset).includes('\n'),
  )
  const own = statement === undefined || offset < statement.start ? '' : field.slice(statement.start)
  const end = statement === undefined ? 0 : Math.max(statement.text.length, offset - statement.start)
  const [text, start] = own === '' ? ['', offset] : [own.slice(0, end), statement?.start ?? offset]
  const isDefinition = definitionHead.test(text)
  const base = profile === undefined ? '' : ` based-on ${profile}`
  const before = `${file}\n${isDefinition ? '' : `profile what-if-field${base} {\n`}`
  return {
    text: `${before}${text}\n${isDefinition ? '' : '}\n'}`,
    offset: before.length + (offset - start),
    shift: before.length - start,
    isStart: !isDefinition && /^[\w-]*$/.test(text.slice(0, offset - start)),
  }
}

/** What is offered in the field, in offsets of the field. Edits elsewhere are left out: nothing is written. */
export function fieldCompletions(
  { offset, shift, isStart }: FieldInFile,
  ask: (offset: number, trigger: CompletionTrigger) => readonly Completion[],
  trigger: CompletionTrigger,
): readonly Completion[] {
  const found = ask(offset, trigger).map(
    ({ more: _, ...one }): Completion => ({
      ...one,
      start: one.start - shift,
      end: one.end - shift,
    }),
  )
  const [first] = found
  if (!isStart || first === undefined) return found
  const there = new Set(found.map(({ label }) => label))
  const added = definitions
    .filter(word => !there.has(word))
    .map(
      (word): Completion => ({
        label: word,
        kind: 'block',
        detail: `Overlay the ${word} of a name, key by key`,
        start: first.start,
        end: first.end,
        text: word,
        rank: 3,
      }),
    )
  return [...found, ...added]
}
