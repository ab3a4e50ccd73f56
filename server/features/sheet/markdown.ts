import { escaped, list, paragraphs, table } from '../markdown.ts'
import type { Sheet, SheetLine } from './types.ts'
import {
  closingBlocks,
  fieldText,
  openingLines,
  pageTitle,
  remarkText,
  restsText,
  rowText,
  titleOf,
  troubles,
} from './words.ts'

/** The sheet as Markdown: reads as plain text, prints from any viewer. */

/** A person's text in a cell; the table itself sees to bars. */
function cell(text: string): string {
  return text.split('|').map(escaped).join('|')
}

function rowOf(line: SheetLine, isDifference: boolean): readonly string[] {
  const { number, enter, before } = line
  return [
    '☐',
    String(number),
    cell(fieldText(line)),
    cell(rowText(line)),
    `**${cell(enter)}**`,
    ...(isDifference ? [before === undefined ? 'not there' : cell(before)] : []),
    '',
    cell(remarkText(line)),
  ]
}

export function sheetMarkdown(sheet: Sheet): string {
  const { from, pages, cautions } = sheet
  const head = ['', '#', 'Field', 'For', 'Enter', ...(from === undefined ? [] : ['Before']), 'Read back', 'Remark']
  const inPages = pages.map(({ page, lines }) =>
    paragraphs(
      `## ${escaped(pageTitle(page))}`,
      table(
        head,
        lines.map(line => rowOf(line, from !== undefined)),
      ),
    ),
  )
  return `${paragraphs(
    `# ${escaped(titleOf(sheet))}`,
    restsText(sheet),
    ...openingLines(sheet),
    troubles(sheet).length === 0 ? undefined : list(troubles(sheet).map(text => `**${escaped(text)}**`)),
    list(cautions.map(text => `**Caution:** ${text}`)),
    ...inPages,
    ...closingBlocks(sheet).map(({ title, lines }) => paragraphs(`## ${escaped(title)}`, list(lines.map(escaped)))),
  )}\n`
}
