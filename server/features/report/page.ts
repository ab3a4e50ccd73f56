/** A report as one page that needs nothing beside it: it is read offline, printed, and sent on. */

import type { Picture } from '../../charts/picture.ts'
import { chartStyle, pageColours, svgElement } from '../../charts/style.ts'
import { escapedHtml, sentenceHtml } from '../html.ts'
import { type Block, type Chart, chartTable, none } from './blocks.ts'

/** Text in which names stand between backticks. */
function inline(text: string): string {
  return sentenceHtml(text).replace(/`([^`]+)`/g, '<code>$1</code>')
}

const style = `
:root { color-scheme: light dark; --ink: #1c1c1c; --paper: #fff; --rule: #bbb; --soft: #f2f2f2 }
@media (prefers-color-scheme: dark) { :root { --ink: #e6e6e6; --paper: #1b1b1b; --rule: #555; --soft: #2a2a2a } }
body { font: 15px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper); max-width: 70rem; margin: 2rem auto; padding: 0 1rem }
h1, h2, h3 { line-height: 1.2; break-after: avoid }
h2 { border-bottom: 1px solid var(--rule); margin-top: 2.5rem }
*, ::before { box-sizing: border-box }
.wide { overflow-x: auto; margin: .8rem 0 }
.wide:focus-visible { outline: 2px solid #2a7ab0 }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; break-inside: auto }
th, td { border-bottom: 1px solid var(--rule); padding: .15rem .7rem .15rem 0; text-align: left; vertical-align: top; white-space: nowrap }
.words { white-space: normal; min-width: 16rem }
p, li, h1, h2, h3 { overflow-wrap: anywhere }
p, li { max-width: 62rem }
tr { break-inside: avoid }
.caution { border: 2px solid var(--ink); padding: .4rem .8rem; margin: .6rem 0; break-inside: avoid }
pre { background: var(--soft); padding: .8rem; overflow-x: auto; font-size: 13px }
figure { margin: 1rem 0 }
figure.many { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(26rem, 100%), 1fr)); gap: 1rem }
figure.three { grid-template-columns: repeat(auto-fit, minmax(min(17rem, 100%), 1fr)) }
.detent-chart { display: block; max-width: 100%; height: auto; break-inside: avoid }
summary { cursor: pointer; font-weight: 600; margin: .6rem 0 }
.n { text-align: right }
@page { size: A4; margin: 11mm 12mm }
@media print {
  :root { --ink: #000; --paper: #fff; --rule: #999; --soft: #fff }
  body { max-width: none; margin: 0; padding: 0; font-size: 11px; line-height: 1.35 }
  h1 { font-size: 20px; margin: 0 0 4px }
  h2 { font-size: 16px; margin: 14px 0 6px }
  h3, summary { font-size: 12.5px; margin: 8px 0 3px; break-after: avoid }
  p, ul { margin: 4px 0 }
  h3 + p { break-after: avoid }
  h2.chapter { break-before: page; margin-top: 0 }
  figure, figure.many { margin: 4px 0 }
  figure.many { display: flex; flex-wrap: wrap; gap: 6px 3%; align-items: flex-start }
  figure.many .detent-chart { width: 48.5% }
  figure.three .detent-chart { width: 31.3% }
  figure.one .detent-chart { width: 66% }
  .caution { padding: 2px 6px; margin: 4px 0; border-width: 1px; font-size: 9px }
  .wide { overflow: visible; margin: 4px 0 }
  table { font-size: 9px; line-height: 1.25 }
  th, td { padding: 1px 6px 1px 0 }
  .words { font-size: 7px; min-width: 20rem }
  pre { white-space: pre-wrap; border: 1px solid var(--rule); padding: 4px 8px; font-size: 7.25px; line-height: 1.3; columns: 2; margin: 4px 0 }
  pre.long { columns: 1 }
  summary { list-style: none }
  details.figures { display: none }
}
`

/** Cells with more than this are sentences, which may break; a path is not one. */
const longCell = 40
const isSentence = (cell: string): boolean => cell.length > longCell && cell.includes(' ')

/** On paper so much of a line of a file fits in half the width of a sheet; text with longer ones takes all of it. */
const halfSheet = 77

const figure = /^[+−-]?\d[\d.:]*(?: [^\s\d]+)?(?: to [+−-]?\d[\d.]*)?$/
const isFigure = (cell: string): boolean => cell === '' || cell === none || figure.test(cell)

function tableHtml(head: readonly string[], rows: readonly (readonly string[])[]): string {
  // A column of figures, or of nothing, ends on its right side.
  const isFigures = head.map((_, at) => rows.every(row => isFigure(row[at] ?? '')))
  const classOf = (one: string, at: number): string =>
    isSentence(one) ? ' class="words"' : isFigures[at] === true ? ' class="n"' : ''
  const cells = (tag: string, row: readonly string[]): string =>
    row
      .map((one, at) => {
        const written = isSentence(one) ? sentenceHtml(one) : escapedHtml(one)
        return `<${tag}${classOf(one, at)}>${written}</${tag}>`
      })
      .join('')
  const body = rows.map(row => `<tr>${cells('td', row)}</tr>`).join('\n')
  // One that is wider than the screen moves in its own box, by finger and by keyboard.
  return `<div class="wide" role="region" aria-label="${escapedHtml(head.filter(one => one !== '').join(', '))}" tabindex="0"><table>\n<thead><tr>${cells('th', head)}</tr></thead>\n<tbody>\n${body}\n</tbody>\n</table></div>`
}

function picturesHtml(pictures: readonly Picture[], perRow: 2 | 3 = 2): string {
  const name = pictures.length < 2 ? 'one' : perRow === 3 ? 'many three' : 'many'
  return `<figure class="${name}">${pictures.map(svgElement).join('\n')}</figure>`
}

/** A chart's values from minute to minute: on paper the chart stands for them. */
function chartHtml(chart: Chart): string {
  const { head, rows } = chartTable(chart)
  return `<details class="figures"><summary>Figures: ${escapedHtml(chart.title)}</summary>${tableHtml(head, rows)}</details>`
}

/** What is folded away on a screen is shown on paper. */
const unfolding =
  "for (const details of document.querySelectorAll('details')) addEventListener('beforeprint', () => { details.open = true; });"

/** These follow what is before them, on paper as well; any other chapter begins a page. */
const follows = /^(?:At a glance|How the figures|Constants of|Voltages of)/

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'heading':
      if (block.level === 2 && !follows.test(block.text)) return `<h2 class="chapter">${escapedHtml(block.text)}</h2>`
      return `<h${block.level}>${escapedHtml(block.text)}</h${block.level}>`
    case 'text':
      return `<p>${inline(block.text)}</p>`
    case 'caution':
      return `<p class="caution"><strong>Caution:</strong> ${sentenceHtml(block.text)}</p>`
    case 'list':
      return `<ul>${block.items.map(item => `<li>${inline(item)}</li>`).join('\n')}</ul>`
    case 'table':
      return tableHtml(block.head, block.rows)
    case 'code':
      return `<pre${block.text.split('\n').some(line => line.length > halfSheet) ? ' class="long"' : ''}>${escapedHtml(block.text)}</pre>`
    case 'pictures':
      return picturesHtml(block.pictures, block.perRow)
    case 'chart':
      return chartHtml(block.chart)
    case 'behind':
      return `<details><summary>${escapedHtml(block.title)}</summary>${block.blocks.map(blockHtml).join('\n')}</details>`
  }
}

/** A text as a page has it, where every line ends in one way. */
function inPage(text: string): string {
  return text.replaceAll(/\r\n?/g, '\n')
}

/** The page's own elements, by what they hold: nothing else that gets into it is run. */
async function sourcesOf(texts: readonly string[]): Promise<string> {
  const sources = texts.map(async text => {
    const digest = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text))
    return `'sha256-${btoa(String.fromCharCode(...new Uint8Array(digest)))}'`
  })
  return texts.length === 0 ? "'none'" : (await Promise.all(sources)).join(' ')
}

export async function reportPage(title: string, blocks: readonly Block[]): Promise<string> {
  const body = blocks.map(blockHtml)
  const styles = inPage(style + pageColours + chartStyle)
  const scripts = [unfolding]
  const policy = `default-src 'none'; style-src ${await sourcesOf([styles])}; script-src ${await sourcesOf(scripts)}; base-uri 'none'; form-action 'none'`
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<title>${escapedHtml(title)}</title>
<style>${styles}</style>
</head>
<body>
${body.join('\n')}
${scripts.map(text => `<script>${text}</script>\n`).join('')}</body>
</html>
`
}
