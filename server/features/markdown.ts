/** Markdown without HTML that also reads as plain text. */

/** A table; cells are padded so that it lines up where it is shown as plain text. At most four columns. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const cells = [head, ...rows].map(row => row.map(cell => cell.replaceAll('|', '\\|')))
  const widths = head.map((_, column) => Math.max(3, ...cells.map(row => [...(row[column] ?? '')].length)))
  const line = (row: readonly string[]): string =>
    `| ${widths.map((width, column) => pad(row[column] ?? '', width)).join(' | ')} |`
  const [first = [], ...others] = cells
  return [line(first), `|${widths.map(width => `:${'-'.repeat(width + 1)}`).join('|')}|`, ...others.map(line)].join(
    '\n',
  )
}

function pad(text: string, width: number): string {
  return text + ' '.repeat(Math.max(0, width - [...text].length))
}

export function list(lines: readonly string[]): string {
  return lines.map(line => `- ${line}`).join('\n')
}

/** Paragraphs with a blank line between them; empty ones are left out. */
export function paragraphs(...parts: readonly (string | undefined)[]): string {
  return parts.filter(part => part !== undefined && part !== '').join('\n\n')
}

/** Text of a person's file in running text: what would be Markdown there is shown as it was written. */
export function escaped(text: string): string {
  return text.replace(/[\\`*_{}[\]<>#|~]/g, '\\$&')
}

/** Text as code; a backquote in it is shown as an apostrophe, which no name or code of the language has. */
export function code(text: string): string {
  return `\`${text.replaceAll('`', "'")}\``
}

/** At most `most` rows, and a line that says how many more there are. */
export function shortened<T>(rows: readonly T[], most: number): { readonly rows: readonly T[]; readonly more: string } {
  const left = rows.length - most
  return left <= 0 ? { rows, more: '' } : { rows: rows.slice(0, most), more: `and ${left} more` }
}
