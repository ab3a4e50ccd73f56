/** The sheet as Markdown: reads as plain text, prints from any viewer. */

import { cellText, list, paragraphs, prose, table } from '../markdown.ts'
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

function rowOf(line: SheetLine, isDifference: boolean): readonly string[] {
  const { number, enter, before } = line
  return [
    '☐',
    String(number),
    cellText(fieldText(line)),
    cellText(rowText(line)),
    `**${cellText(enter)}**`,
    ...(isDifference ? [before === undefined ? 'not there' : cellText(before)] : []),
    '',
    cellText(remarkText(line)),
  ]
}

export function sheetMarkdown(sheet: Sheet): string {
  const { from, pages, cautions } = sheet
  const head = ['', '#', 'Field', 'For', 'Enter', ...(from === undefined ? [] : ['Before']), 'Read back', 'Remark']
  const inPages = pages.map(({ page, lines }) =>
    paragraphs(
      `## ${prose(pageTitle(page))}`,
      table(
        head,
        lines.map(line => rowOf(line, from !== undefined)),
      ),
    ),
  )
  return `${paragraphs(
    `# ${prose(titleOf(sheet))}`,
    prose(restsText(sheet)),
    ...openingLines(sheet).map(prose),
    troubles(sheet).length === 0 ? undefined : list(troubles(sheet).map(text => `**${prose(text)}**`)),
    list(cautions.map(text => `**Caution:** ${prose(text)}`)),
    ...inPages,
    ...closingBlocks(sheet).map(({ title, lines }) => paragraphs(`## ${prose(title)}`, list(lines.map(prose)))),
  )}\n`
}
