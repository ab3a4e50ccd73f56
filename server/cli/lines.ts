/** Lines and columns of a text, both counted from 1, columns in UTF-16 units. */

export interface Position {
  readonly line: number
  readonly column: number
}

export interface Lines {
  at(offset: number): Position
  /** The text of a line without its end. */
  textOf(line: number): string
}

export function linesOf(text: string): Lines {
  const starts = [0]
  for (const found of text.matchAll(/\r\n|\r|\n/g)) starts.push(found.index + found[0].length)
  return {
    at: offset => {
      let low = 0
      let high = starts.length - 1
      while (low < high) {
        const middle = (low + high + 1) >> 1
        if ((starts[middle] as number) <= offset) low = middle
        else high = middle - 1
      }
      return { line: low + 1, column: offset - (starts[low] as number) + 1 }
    },
    textOf: line =>
      text.slice(starts[line - 1] ?? text.length, starts[line] ?? text.length).replace(/\r\n$|\r$|\n$/, ''),
  }
}

/**
 * `line 39`, `lines 39, 41 and 50`, `lines 3, 4, 5 and 12 more`.
 * @param numbers at least one, in order
 * @param most so many are named where there are more than one beside them
 */
export function lineNumbersText(numbers: readonly number[], most = Number.POSITIVE_INFINITY): string {
  const isLong = numbers.length > most + 1
  const named = isLong ? numbers.slice(0, most) : numbers.slice(0, -1)
  const last = isLong ? `${numbers.length - most} more` : String(numbers.at(-1))
  return named.length === 0 ? `line ${last}` : `lines ${named.join(', ')} and ${last}`
}

/** A text of several lines in one. */
export function inOneLine(text: string): string {
  return text
    .split(/[\r\n]+/)
    .map(line => line.trim())
    .join(' ')
}
