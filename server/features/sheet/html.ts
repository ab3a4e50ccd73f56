/**
 * The sheet as one page, for paper and for a phone beside the machine: nothing is loaded and nothing runs; boxes are kept
 * by the browser while the page is open.
 */

import { escapedHtml, sentenceHtml } from '../html.ts'
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
  table { border-collapse: collapse; width: 100% }
  thead { display: table-header-group }
  tr { break-inside: avoid }
  th, td { box-sizing: border-box; border: 1px solid #777; padding: .3rem .5rem; text-align: left; vertical-align: top }
  th { font-weight: 600; background: #eee }
  .field, .remark { overflow-wrap: anywhere }
  .field { min-width: 9.5rem }
  .tick, .number, .for, .enter, .before { white-space: nowrap }
  .back { min-width: 6rem }
  td.number { text-align: right }
  td.enter { font-weight: 700; font-size: 1.1em; font-variant-numeric: tabular-nums }
  td.tick { text-align: center }
  .tick input { width: 1.3em; height: 1.3em; margin: 0; accent-color: #111 }
  td.remark { color: #444; font-size: .9em }
  li { break-inside: avoid; overflow-wrap: anywhere }
  @media print { body { max-width: none; padding: 0 } }
  /* Too narrow for columns: a line becomes a card, the value at its right or below. */
  @media screen and (max-width: 47rem) {
    body { padding: .7rem }
    table, tbody { display: block }
    thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%) }
    tr { display: flex; flex-wrap: wrap; align-items: baseline; column-gap: .6rem; padding: .5rem 0; border-bottom: 1px solid #777 }
    td { border: 0; padding: 0 }
    td:empty { display: none }
    .tick input { width: 1.6rem; height: 1.6rem; vertical-align: middle }
    .field { flex: 1 1 9rem; min-width: 0 }
    .enter, .before { max-width: 100%; overflow-x: auto }
    .enter { margin-left: auto }
    .before::before { content: "before " }
    .before, .remark { color: #444 }
    .remark { flex: 1 1 100% }
  }
`

function rowHtml(line: SheetLine, isDifference: boolean): string {
  const before = line.before === undefined ? 'not there' : line.before
  const box = `entered-${line.number}`
  return [
    `<tr role="row"><td class="tick" role="cell"><input type="checkbox" id="${box}"></td>`,
    `<td class="number" role="cell">${line.number}</td>`,
    `<td class="field" role="cell"><label for="${box}">${escapedHtml(fieldText(line))}</label></td>`,
    `<td class="for" role="cell">${escapedHtml(rowText(line))}</td>`,
    `<td class="enter" role="cell">${escapedHtml(line.enter)}</td>`,
    isDifference ? `<td class="before" role="cell">${escapedHtml(before)}</td>` : '',
    '<td class="back" role="cell"></td>',
    `<td class="remark" role="cell">${sentenceHtml(remarkText(line))}</td></tr>`,
  ].join('')
}

function pageHtml({ page, lines }: SheetPage, isDifference: boolean): string {
  const heads = [
    ['tick', 'Done'],
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
    // The roles stay where a narrow screen shows lines as cards.
    '<table role="table">',
    `<thead role="rowgroup"><tr role="row">${heads.map(([name, head]) => `<th scope="col" role="columnheader" class="${name}">${head}</th>`).join('')}</tr></thead>`,
    '<tbody role="rowgroup">',
    ...lines.map(line => rowHtml(line, isDifference)),
    '</tbody></table>',
  ].join('\n')
}

function box(className: string, lines: readonly string[]): string {
  if (lines.length === 0) return ''
  return `<div class="${className}">${lines.map(line => `<p>${sentenceHtml(line)}</p>`).join('')}</div>`
}

export function sheetHtml(sheet: Sheet): string {
  const title = escapedHtml(titleOf(sheet))
  const parts = [
    `<h1>${title}</h1>`,
    `<p class="rests">${sentenceHtml(restsText(sheet))}</p>`,
    ...openingLines(sheet).map(line => `<p>${sentenceHtml(line)}</p>`),
    box('trouble', troubles(sheet)),
    box(
      'caution',
      sheet.cautions.map(text => `Caution: ${text}`),
    ),
    ...sheet.pages.map(page => pageHtml(page, sheet.from !== undefined)),
    ...closingBlocks(sheet).map(
      block =>
        `<h2>${escapedHtml(block.title)}</h2>\n<ul>\n${block.lines.map(line => `<li>${sentenceHtml(line)}</li>`).join('\n')}\n</ul>`,
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
