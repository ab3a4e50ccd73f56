/** Markdown without HTML that also reads as plain text. */

import { visible } from '../wording/visible.ts'

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

/** What a viewer makes a link of without any sign of Markdown. Inside of code nothing is made of anything. */
const linked = /(?:https?|ftp|mailto|xmpp|file|data|command|vscode):|\/\/|\bwww\.|[^\s@]@[^\s@]+\./i

function escapedWord(word: string): string {
  if (linked.test(word)) return code(word)
  return word.replace(/[\\`*_{}[\]<>#|~]|&(?=[#\w]+;)/g, '\\$&')
}

/**
 * Text of a person's file in running text: what would be Markdown there is shown as it was written. All such text goes
 * through here, or through `code`: no link, picture or HTML comes of it.
 */
export function escaped(text: string): string {
  return visible(text)
    .split(/(\s+)/)
    .map((part, index) => (index % 2 === 0 ? escapedWord(part) : part.includes('\n') ? ' ' : part))
    .join('')
}

/** A sentence of ours with a person's text in it: what stands between backquotes is code, and the rest is escaped. */
export function prose(text: string): string {
  return text
    .split(/`([^`]*)`/)
    .map((part, index) => (index % 2 === 0 ? escaped(part) : part === '' ? '' : code(part)))
    .join('')
}

/** Text as code; a backquote in it is shown as an apostrophe, which no name or code of the language has. */
export function code(text: string): string {
  return `\`${visible(text)
    .replace(/\s*\n\s*/g, ' ')
    .replaceAll('`', "'")}\``
}

/** Lines of code, within a fence that none of them ends. */
export function fenced(text: string, language: string): string {
  const longest = Math.max(2, ...[...text.matchAll(/`+/g)].map(([ticks]) => ticks.length))
  const fence = '`'.repeat(longest + 1)
  return `${fence}${language}\n${visible(text).trimEnd()}\n${fence}`
}

/** A person's text in a cell; the table itself sees to bars. */
export function cellText(text: string): string {
  return text.split('|').map(prose).join('|')
}

/** At most `most` rows, and a line that says how many more there are. */
export function shortened<T>(rows: readonly T[], most: number): { readonly rows: readonly T[]; readonly more: string } {
  const left = rows.length - most
  return left <= 0 ? { rows, more: '' } : { rows: rows.slice(0, most), more: `and ${left} more` }
}
