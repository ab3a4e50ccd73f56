/** Tables for a terminal: plain columns with two spaces between, no wider than the terminal. */

import Table from 'cli-table3'
import stringWidth from 'string-width'
import { findUnit } from '../../service.ts'
import type { Io } from '../io.ts'

export interface Column {
  readonly head: string
  readonly side: 'left' | 'right'
  /** Says whose row it is: it begins each of the narrower tables where one would be too wide. */
  readonly key?: true
}

/** A cell's text, and the text with its colour, which takes no room. */
export interface Cell {
  readonly text: string
  readonly shown?: string
}

const gap = 2
const usualWidth = 80
/** Lines longer than this are hard to read back from, however wide the terminal. */
const longestText = 100

/** How many characters a line may take: those of the terminal, else 80. */
export function widthOf({ out }: Pick<Io, 'out'>): number {
  return Math.max(40, out.columns ?? usualWidth)
}

/** The library draws boxes; without any of their lines it sets columns. */
const noLines = Object.fromEntries(
  [
    ...['top', 'top-mid', 'top-left', 'top-right', 'bottom', 'bottom-mid', 'bottom-left', 'bottom-right'],
    ...['left', 'left-mid', 'mid', 'mid-mid', 'right', 'right-mid'],
  ].map(name => [name, '']),
)

function drawn(columns: readonly Column[], rows: readonly (readonly Cell[])[]): string {
  const table = new Table({
    chars: { ...noLines, middle: ' '.repeat(gap) },
    style: { 'padding-left': 0, 'padding-right': 0, head: [], border: [] },
    colAligns: columns.map(({ side }) => side),
  })
  table.push(
    columns.map(({ head }) => head),
    ...rows.map(row => row.map(({ text, shown }) => shown ?? text)),
  )
  return table
    .toString()
    .split('\n')
    .map(line => `${line.trimEnd()}\n`)
    .join('')
}

function widthsOf(columns: readonly Column[], rows: readonly (readonly Cell[])[]): readonly number[] {
  return columns.map(({ head }, index) =>
    Math.max(stringWidth(head), ...rows.map(row => stringWidth(row[index]?.text ?? ''))),
  )
}

/** Each row on its own: what it is of, then every figure with its head. */
function blocks(columns: readonly Column[], rows: readonly (readonly Cell[])[], width: number): string {
  const named = (cell: Cell | undefined, index: number): string => {
    const text = cell?.text ?? ''
    return text === '' ? '' : `${columns[index]?.head ?? ''} ${text}`.trim()
  }
  return rows
    .map(row => {
      const of = (isKey: boolean): string =>
        row
          .flatMap((cell, index) => ((columns[index]?.key ?? false) === isKey ? [named(cell, index)] : []))
          .filter(text => text !== '')
          .join(', ')
      return `${wrapped(of(true), '', width)}${wrapped(of(false), '  ', width)}`
    })
    .join('')
}

/**
 * A table no wider than asked for: a wider one is split into narrower ones, each beginning with the key columns, and
 * where even those do not fit, row by row in blocks.
 */
export function tableText(columns: readonly Column[], rows: readonly (readonly Cell[])[], width: number): string {
  const widths = widthsOf(columns, rows)
  const wide = (indices: readonly number[]): number =>
    indices.reduce((sum, index) => sum + (widths[index] ?? 0) + gap, -gap)
  const all = columns.map((_, index) => index)
  const keys = all.filter(index => columns[index]?.key)
  const others = all.filter(index => !columns[index]?.key)
  if (wide(all) > width && others.some(index => wide([...keys, index]) > width)) return blocks(columns, rows, width)
  const tables: number[][] = []
  for (const index of wide(all) <= width ? [] : others) {
    const last = tables.at(-1)
    if (last !== undefined && wide([...last, index]) <= width) last.push(index)
    else tables.push([...keys, index])
  }
  return (tables.length === 0 ? [all] : tables)
    .map(indices =>
      drawn(
        indices.flatMap(index => columns[index] ?? []),
        rows.map(row => indices.map(index => row[index] ?? { text: '' })),
      ),
    )
    .join('')
}

/** The words of a text; a number and its unit are one, since a figure must not break. */
function unbroken(text: string): readonly string[] {
  const words: string[] = []
  for (const word of text.split(' ')) {
    const last = words.at(-1)
    const isUnit =
      last !== undefined && /\d$/.test(last) && findUnit(word.replace(/[^\p{L}%/]{1,4}$/u, '')) !== undefined
    if (isUnit) words[words.length - 1] = `${last} ${word}`
    else words.push(word)
  }
  return words
}

/** Breaks a text at spaces into lines of at most this many characters; every line begins with the indent. */
export function wrapped(text: string, indent: string, width: number): string {
  const most = Math.min(width, longestText)
  const lines: string[] = []
  let line = ''
  for (const word of unbroken(text)) {
    if (line !== '' && stringWidth(indent) + stringWidth(line) + 1 + stringWidth(word) > most) {
      lines.push(line)
      line = word
    } else line = line === '' ? word : `${line} ${word}`
  }
  return [...lines, line].map(one => `${indent}${one}\n`).join('')
}
