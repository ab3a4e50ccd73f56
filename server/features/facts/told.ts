/** What a hover says, in the order in which it is read: a few lines, short tables, and what they rest on. */

import { paragraphs } from '../markdown.ts'

export interface Told {
  /** The answer, the most important line first. */
  readonly lines: readonly string[]
  readonly tables: readonly string[]
  /** How the answer comes about, and further tables: what a person opens who wants to know more. */
  readonly rest: readonly string[]
}

type Part = string | undefined

interface Parts {
  readonly lines?: readonly Part[]
  readonly tables?: readonly Part[]
  readonly rest?: readonly Part[]
}

/** So many lines stand before the first table. */
const mostLines = 4

function given(parts: readonly Part[] = []): readonly string[] {
  return parts.filter(part => part !== undefined).filter(part => part !== '')
}

export function told({ lines, tables, rest }: Parts): Told {
  return { lines: given(lines), tables: given(tables), rest: given(rest) }
}

/** Several as one: the lines of all, then the tables of all. */
export function together(...all: readonly (Told | undefined)[]): Told {
  const known = all.filter(one => one !== undefined)
  return {
    lines: known.flatMap(one => one.lines),
    tables: known.flatMap(one => one.tables),
    rest: known.flatMap(one => one.rest),
  }
}

function lineCount(text: string): number {
  return text.split('\n').length
}

/** What is read at once. Lines for which there is no room before a table come after it. */
export function answerOf({ lines, tables }: Told): string {
  let room = mostLines
  const isBefore = lines.map(line => {
    room -= lineCount(line)
    return tables.length === 0 || room >= 0
  })
  return paragraphs(
    ...lines.filter((_, index) => isBefore[index]),
    ...tables,
    ...lines.filter((_, index) => !isBefore[index]),
  )
}

export function restOf({ rest }: Told): string {
  return paragraphs(...rest)
}

export function wholeOf(shown: Told): string {
  return paragraphs(answerOf(shown), restOf(shown))
}
