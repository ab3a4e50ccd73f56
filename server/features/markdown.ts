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

/** Heads of columns that say whose row it is: they begin each of the narrower tables that a wide one becomes. */
const keyHeads: ReadonlySet<string> = new Set([
  ...['profile', 'load', 'cores', 'air, humidity', 'figure', 'min:s', 'expected', 'ratio'],
])

/** So many characters a row has room for in a column beside the text; a cell's edges take about two. */
const columnRoom = 62
const cellEdge = 2
/** Longer texts break into lines. */
const longestFigure = 24

/**
 * A table for a page that may stand in a narrow column beside the text: one that would be cut there is split into narrower
 * ones, each beginning with the columns that say whose row it is.
 */
export function narrowTables(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const widths = head.map(
    (name, index) =>
      cellEdge + Math.min(longestFigure, Math.max(name.length, ...rows.map(row => row[index]?.length ?? 0))),
  )
  // What stands side by side to be compared stays so; its words may break.
  if (head[0]?.toLowerCase() === 'setting') return table(head, rows)
  const found = head.findIndex(name => !keyHeads.has(name))
  const keys = head.map((_, index) => index).slice(0, found < 0 ? head.length : found)
  const wide = (indices: readonly number[]): number => indices.reduce((sum, index) => sum + (widths[index] ?? 0), 0)
  const tables: number[][] = []
  for (let index = keys.length; index < head.length; index++) {
    const last = tables.at(-1)
    if (last !== undefined && wide([...last, index]) <= columnRoom) last.push(index)
    else tables.push([...keys, index])
  }
  return (tables.length === 0 ? [keys] : tables)
    .map(indices =>
      table(
        indices.map(index => head[index] ?? ''),
        rows.map(row => indices.map(index => row[index] ?? '')),
      ),
    )
    .join('\n\n')
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
  const lines = visible(text).split('\n')
  const line = lines.length === 1 ? lines[0] : lines.map(one => one.trim()).join(' ')
  return `\`${line?.replaceAll('`', "'")}\``
}

/** A link of ours to a command of our own client, with arguments that the server makes: never text of a file. */
export function commandLink(label: string, command: string, args: readonly unknown[]): string {
  // What would end the link stands in no address.
  const query = encodeURIComponent(JSON.stringify(args)).replace(
    /[!'()*~]/g,
    character => `%${character.charCodeAt(0).toString(16)}`,
  )
  return `[${label}](command:${command}?${query})`
}

/** Lines of code, within a fence that none of them ends. */
export function fenced(text: string, language: string): string {
  const longest = Math.max(2, ...[...text.matchAll(/`+/g)].map(([ticks]) => ticks.length))
  const fence = '`'.repeat(longest + 1)
  return `${fence}${language}\n${visible(text).trimEnd()}\n${fence}`
}

/** A person's text in a cell; the table itself escapes bars. */
export function cellText(text: string): string {
  return text.split('|').map(prose).join('|')
}

/** At most `most` rows, and a line that says how many more there are. */
export function shortened<T>(rows: readonly T[], most: number): { readonly rows: readonly T[]; readonly more: string } {
  const left = rows.length - most
  return left <= 0 ? { rows, more: '' } : { rows: rows.slice(0, most), more: `and ${left} more` }
}
