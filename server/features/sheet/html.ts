import { escapedHtml } from '../html.ts'
import type { Sheet, SheetLine, SheetPage } from './types.ts'
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

/** The sheet as one page to print: nothing is loaded, nothing runs, and black on white is enough. */

const style = `
  @page { margin: 14mm }
  html { color: #111; background: #fff; font: 11pt/1.4 system-ui, sans-serif }
  body { max-width: 62rem; margin: 0 auto; padding: 1rem }
  h1 { font-size: 1.5rem; margin: 0 0 .2rem }
  h2 { font-size: 1.1rem; margin: 1.4rem 0 .3rem; break-after: avoid }
  .rests { color: #444; margin: 0 0 .6rem }
  .caution, .trouble { border: 1px solid #111; padding: .4rem .8rem; margin: .6rem 0; break-inside: avoid }
  .trouble { border-width: 3px; font-weight: 600 }
  .caution p, .trouble p { margin: .2rem 0 }
  table { border-collapse: collapse; width: 100%; table-layout: fixed }
  th, td { box-sizing: border-box; overflow-wrap: anywhere }
  .tick, .number { width: 5% } .field { width: 21% } .for { width: 17% }
  .enter, .before { width: 12% } .back { width: 13% }
  thead { display: table-header-group }
  tr { break-inside: avoid }
  th, td { border: 1px solid #777; padding: .3rem .5rem; text-align: left; vertical-align: top }
  th { font-weight: 600; background: #eee }
  td.number { text-align: right }
  td.enter { font-weight: 700; font-size: 1.1em; font-variant-numeric: tabular-nums }
  td.tick { text-align: center }
  td.tick span { display: inline-block; width: .9em; height: .9em; border: 1.5px solid #111 }
  td.remark { color: #444; font-size: .9em }
  li { break-inside: avoid }
  @media print { body { max-width: none; padding: 0 } }
`

function rowHtml(line: SheetLine, isDifference: boolean): string {
  const before = line.before === undefined ? 'not there' : line.before
  return [
    '<tr><td class="tick"><span aria-label="to tick"></span></td>',
    `<td class="number">${line.number}</td>`,
    `<td class="field">${escapedHtml(fieldText(line))}</td>`,
    `<td class="for">${escapedHtml(rowText(line))}</td>`,
    `<td class="enter">${escapedHtml(line.enter)}</td>`,
    isDifference ? `<td class="before">${escapedHtml(before)}</td>` : '',
    '<td class="back"></td>',
    `<td class="remark">${escapedHtml(remarkText(line))}</td></tr>`,
  ].join('')
}

function pageHtml({ page, lines }: SheetPage, isDifference: boolean): string {
  const heads = [
    ['tick', ''],
    ['number', '#'],
    ['field', 'Field'],
    ['for', 'For'],
    ['enter', 'Enter'],
    ...(isDifference ? [['before', 'Before']] : []),
    ['back', 'Read back'],
    ['remark', 'Remark'],
  ]
  return [
    `<h2>${escapedHtml(pageTitle(page))}</h2>`,
    '<table>',
    `<thead><tr>${heads.map(([name, head]) => `<th scope="col" class="${name}">${head}</th>`).join('')}</tr></thead>`,
    '<tbody>',
    ...lines.map(line => rowHtml(line, isDifference)),
    '</tbody></table>',
  ].join('\n')
}

function box(className: string, lines: readonly string[]): string {
  if (lines.length === 0) return ''
  return `<div class="${className}">${lines.map(line => `<p>${escapedHtml(line)}</p>`).join('')}</div>`
}

export function sheetHtml(sheet: Sheet): string {
  const title = escapedHtml(titleOf(sheet))
  const parts = [
    `<h1>${title}</h1>`,
    `<p class="rests">${escapedHtml(restsText(sheet))}</p>`,
    ...openingLines(sheet).map(line => `<p>${escapedHtml(line)}</p>`),
    box('trouble', troubles(sheet)),
    box(
      'caution',
      sheet.cautions.map(text => `Caution: ${text}`),
    ),
    ...sheet.pages.map(page => pageHtml(page, sheet.from !== undefined)),
    ...closingBlocks(sheet).map(
      block =>
        `<h2>${escapedHtml(block.title)}</h2>\n<ul>\n${block.lines.map(line => `<li>${escapedHtml(line)}</li>`).join('\n')}\n</ul>`,
    ),
    '<p>Entered on ____________________ by ____________________</p>',
  ]
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width">
<title>${title}</title>
<style>${style}</style>
</head>
<body>
${parts.filter(part => part !== '').join('\n')}
</body>
</html>
`
}
