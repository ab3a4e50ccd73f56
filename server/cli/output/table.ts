/** Tables for a terminal: plain columns with two spaces between, numbers to the right. */

export interface Column {
  readonly head: string
  readonly side: 'left' | 'right'
}

/** A cell's text, and the text with its colour, which takes no room. */
export interface Cell {
  readonly text: string
  readonly shown?: string
}

const gap = '  '

export function tableText(columns: readonly Column[], rows: readonly (readonly Cell[])[]): string {
  const widths = columns.map((column, index) =>
    Math.max(column.head.length, ...rows.map(row => row[index]?.text.length ?? 0)),
  )
  const place = (cell: Cell, index: number): string => {
    const room = ' '.repeat(Math.max(0, (widths[index] ?? 0) - cell.text.length))
    const shown = cell.shown ?? cell.text
    return columns[index]?.side === 'right' ? room + shown : shown + room
  }
  const line = (cells: readonly Cell[]): string => cells.map(place).join(gap).trimEnd()
  return [columns.map(({ head }) => ({ text: head })), ...rows].map(cells => `${line(cells)}\n`).join('')
}

/** Breaks a text at spaces into lines of at most this many characters; every line begins with the indent. */
export function wrapped(text: string, indent: string, width: number): string {
  const lines: string[] = []
  let line = ''
  for (const word of text.split(' ')) {
    if (line !== '' && indent.length + line.length + 1 + word.length > width) {
      lines.push(line)
      line = word
    } else line = line === '' ? word : `${line} ${word}`
  }
  return [...lines, line].map(one => `${indent}${one}\n`).join('')
}
