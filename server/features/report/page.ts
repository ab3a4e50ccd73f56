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
body { font: 15px/1.5 system-ui, sans-serif; color: var(--ink); background: var(--paper); max-width: 62rem; margin: 2rem auto; padding: 0 1rem }
h1, h2, h3 { line-height: 1.2; break-after: avoid }
h2 { border-bottom: 1px solid var(--rule); margin-top: 2.5rem }
*, ::before { box-sizing: border-box }
.wide { overflow-x: auto; margin: .8rem 0 }
.wide:focus-visible { outline: 2px solid #2a7ab0 }
table { border-collapse: collapse; font-variant-numeric: tabular-nums; break-inside: auto }
th, td { border-bottom: 1px solid var(--rule); padding: .15rem .7rem .15rem 0; text-align: left; vertical-align: top; white-space: nowrap }
.words { white-space: normal; min-width: 16rem }
p, li, h1, h2, h3 { overflow-wrap: anywhere }
tr { break-inside: avoid }
.caution { border: 2px solid var(--ink); padding: .4rem .8rem; margin: .6rem 0; break-inside: avoid }
pre { background: var(--soft); padding: .8rem; overflow-x: auto; font-size: 13px }
figure { margin: 1rem 0; break-inside: avoid }
figure.many { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(26rem, 100%), 1fr)); gap: 1rem }
.detent-chart { display: block; max-width: 100%; height: auto }
.n { text-align: right }
@media print {
  :root { --ink: #000; --paper: #fff; --rule: #999; --soft: #fff }
  body { max-width: none; margin: 0; font-size: 11px }
  .wide { overflow: visible }
  pre { white-space: pre-wrap; border: 1px solid var(--rule) }
}
`

/** Cells with more than this are sentences, which may break. */
const longCell = 40

const figure = /^[+−-]?\d[\d.:]*(?: [^\s\d]+)?(?: to [+−-]?\d[\d.]*)?$/
const isFigure = (cell: string): boolean => cell === '' || cell === none || figure.test(cell)

function tableHtml(head: readonly string[], rows: readonly (readonly string[])[]): string {
  // A column of figures, or of nothing, ends on its right side.
  const isFigures = head.map(
    (_, at) => rows.some(row => figure.test(row[at] ?? '')) && rows.every(row => isFigure(row[at] ?? '')),
  )
  const classOf = (one: string, at: number): string =>
    one.length > longCell ? ' class="words"' : isFigures[at] === true ? ' class="n"' : ''
  const cells = (tag: string, row: readonly string[]): string =>
    row
      .map((one, at) => {
        const written = one.length > longCell ? sentenceHtml(one) : escapedHtml(one)
        return `<${tag}${classOf(one, at)}>${written}</${tag}>`
      })
      .join('')
  const body = rows.map(row => `<tr>${cells('td', row)}</tr>`).join('\n')
  // One that is wider than the screen moves in its own box, by finger and by keyboard.
  return `<div class="wide" role="region" aria-label="${escapedHtml(head.filter(one => one !== '').join(', '))}" tabindex="0"><table>\n<thead><tr>${cells('th', head)}</tr></thead>\n<tbody>\n${body}\n</tbody>\n</table></div>`
}

function picturesHtml(pictures: readonly Picture[], chart: Chart | undefined): string {
  const drawn = pictures.map(svgElement).join('\n')
  const figures = chart && chartTable(chart)
  const behind =
    figures === undefined
      ? ''
      : `<details><summary>Figures of this chart</summary>${tableHtml(figures.head, figures.rows)}</details>`
  return `<figure${pictures.length > 1 ? ' class="many"' : ''}>${drawn}${behind}</figure>`
}

/** What is folded away on a screen is shown on paper. */
const unfolding =
  "for (const details of document.querySelectorAll('details')) addEventListener('beforeprint', () => { details.open = true; });"

function blockHtml(block: Block): string {
  switch (block.kind) {
    case 'heading':
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
      return `<pre>${escapedHtml(block.text)}</pre>`
    case 'pictures':
      return picturesHtml(block.pictures, block.chart)
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
