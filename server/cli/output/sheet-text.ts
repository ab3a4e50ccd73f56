/** The sheet for a terminal beside the machine. */

import type { Sheet, SheetLine } from '../../features/sheet/types.ts'
import { sheetWords } from '../../service.ts'
import { headText, type Paint, paintFor } from '../colour.ts'
import type { Io } from '../io.ts'
import type { PlacedSheet } from './sheet-json.ts'
import { type Cell, type Column, tableText, wrapped } from './table.ts'

const width = 100

const columns = (isDifference: boolean): readonly Column[] => [
  { head: '', side: 'left' },
  { head: '#', side: 'right' },
  { head: 'field', side: 'left' },
  { head: 'for', side: 'left' },
  { head: 'enter', side: 'right' },
  ...(isDifference ? [{ head: 'before', side: 'right' } as const] : []),
  { head: 'read back', side: 'left' },
  { head: 'remark', side: 'left' },
]

function rowOf(line: SheetLine, isDifference: boolean, paint: Paint): Cell[] {
  const { number, enter, before } = line
  return [
    { text: '[ ]' },
    { text: String(number) },
    { text: sheetWords.fieldText(line) },
    { text: sheetWords.rowText(line) },
    { text: enter, shown: paint('bold', enter) },
    ...(isDifference ? [{ text: before ?? 'not there' }] : []),
    { text: '_________' },
    { text: sheetWords.remarkText(line) },
  ]
}

function blockText(title: string, lines: readonly string[], paint: Paint): string {
  return `${paint('bold', title)}\n${lines.map(line => wrapped(line, '  ', width)).join('')}`
}

function partsOf(sheet: Sheet, at: string, paint: Paint): readonly string[] {
  const isDifference = sheet.from !== undefined
  const rests = sheetWords.restsText(sheet)
  const opening = sheetWords.openingLines(sheet).map(line => wrapped(line, '  ', width))
  const trouble = sheetWords.troubles(sheet).map(line => wrapped(line, '  ', width))
  return [
    [
      headText(paint, sheetWords.titleOf(sheet), at),
      ...(rests === '' ? [] : [wrapped(rests, '  ', width)]),
      ...opening,
    ].join(''),
    trouble.length === 0 ? '' : paint('red', trouble.join('').trimEnd()).concat('\n'),
    sheet.cautions.map(text => wrapped(`Caution: ${text}`, '  ', width)).join(''),
    ...sheet.pages.map(
      ({ page, lines }) =>
        `${paint('bold', sheetWords.pageTitle(page))}\n${tableText(
          columns(isDifference),
          lines.map(line => rowOf(line, isDifference, paint)),
          // A line is ticked off as a whole.
          Number.POSITIVE_INFINITY,
        )}`,
    ),
    ...sheetWords.closingBlocks(sheet).map(({ title, lines }) => blockText(title, lines, paint)),
  ]
}

export function sheetText({ sheet, file, line }: PlacedSheet, io: Io): string {
  return partsOf(sheet, `${file}:${line}`, paintFor(io, io.out))
    .filter(part => part !== '')
    .join('\n')
}
