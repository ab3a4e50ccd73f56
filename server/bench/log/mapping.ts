/** What the columns of a log are, as a `run` states it. */

import type { Span } from '../../../grammar/tree.ts'
import type { Unit } from '../../../grammar/units/units.ts'
import type { Figure } from './figures.ts'

export type ColumnKind = Figure | 'time'

/** One column of a log. */
export interface LogColumn {
  readonly kind: ColumnKind
  /** As the log has it. */
  readonly header: string
  readonly unit: Unit
  /** The `column` statement, in the chunk's offsets. */
  readonly span: Span
  readonly headerSpan: Span
  readonly unitSpan: Span
}

/** One character. */
export type Delimiter = string
export type DecimalMark = '.' | ','

/** What a log's columns are. Delimiter and decimal mark are found from the log where they are absent. */
export interface LogMapping {
  readonly columns: readonly Pick<LogColumn, 'kind' | 'header' | 'unit'>[]
  readonly delimiter?: Delimiter
  readonly decimal?: DecimalMark
}

export const delimiters: Readonly<Record<string, Delimiter>> = {
  comma: ',',
  semicolon: ';',
  tab: '\t',
  space: ' ',
  pipe: '|',
}

/** A delimiter as it is written in the language: its word, else the character in quotes. */
export function delimiterText(delimiter: Delimiter): string {
  return Object.keys(delimiters).find(word => delimiters[word] === delimiter) ?? `"${delimiter}"`
}

/** Whether a character can separate cells: quotes and line ends have another meaning, digits and letters stand in them. */
export function canSeparate(text: string): boolean {
  return [...text].length === 1 && text.length === 1 && !/[\p{L}\p{N}"\r\n\ufeff]/u.test(text)
}
