/** A report as one page that needs nothing beside it: it is read offline, printed, and sent on. */

import { escapedHtml, sentenceHtml } from '../html.ts'
import { type Block, type Chart, chartTable } from './blocks.ts'

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
.u-legend { font-size: 13px }
@media print {
  .u-legend .u-series:first-child, .u-legend .u-value { display: none }
  :root { --ink: #000; --paper: #fff; --rule: #999; --soft: #fff }
  body { max-width: none; margin: 0; font-size: 11px }
  .wide { overflow: visible }
  pre { white-space: pre-wrap; border: 1px solid var(--rule) }
}
`

/** Cells with more than this are sentences, which may break. */
const longCell = 40

function tableHtml(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const cells = (tag: string, row: readonly string[]): string =>
    row
      .map(one =>
        one.length > longCell
          ? `<${tag} class="words">${sentenceHtml(one)}</${tag}>`
          : `<${tag}>${escapedHtml(one)}</${tag}>`,
      )
      .join('')
  const body = rows.map(row => `<tr>${cells('td', row)}</tr>`).join('\n')
  // One that is wider than the screen moves in its own box, by finger and by keyboard.
  return `<div class="wide" role="region" aria-label="${escapedHtml(head.filter(one => one !== '').join(', '))}" tabindex="0"><table>\n<thead><tr>${cells('th', head)}</tr></thead>\n<tbody>\n${body}\n</tbody>\n</table></div>`
}

function chartHtml(chart: Chart, number: number, drawn: 'drawn' | 'tabled'): string {
  const { head, rows } = chartTable(chart)
  return [
    `<figure><figcaption><strong>${escapedHtml(chart.title)}</strong></figcaption>`,
    drawn === 'tabled'
      ? ''
      : `<div class="chart" id="chart-${number}" role="img" aria-label="${escapedHtml(chart.title)}; the figures are in the table below"></div>`,
    `<details${drawn === 'tabled' ? ' open' : ''}><summary>Figures of this chart</summary>${tableHtml(head, rows)}</details></figure>`,
  ].join('\n')
}

/** Draws every chart with the library whose code stands before this in the page. */
const drawing = `
// To be read on paper as well as on a dark screen.
const ink = '#767676';
const strokes = ['#0b6fa4', '#c2410c', '#4d7c0f', '#7e22ce', '#555'];
const dashes = [[], [6, 4], [2, 3], [10, 4, 2, 4], [1, 2]];
// A figure that never changes is a line in the middle.
const range = (plot, least, most) => least === most ? [least * .98 - 1, most * 1.02 + 1] : uPlot.rangeNum(least, most, .1, false);
for (const [index, { timeS, plots }] of JSON.parse(document.getElementById('chart-data').textContent).entries()) {
  const at = document.getElementById('chart-' + index);
  const axis = { stroke: ink, grid: { stroke: 'rgba(128,128,128,.25)' } };
  for (const [n, { unit, lines }] of plots.entries()) {
    const isLast = n === plots.length - 1;
    new uPlot({
      width: Math.min(900, at.clientWidth || 900), height: n === 0 ? 220 : isLast ? 150 : 110,
      cursor: { sync: { key: 'chart-' + index } },
      scales: { x: { time: false }, y: { range } },
      series: [{ label: 'minutes' }, ...lines.map((line, m) => ({ label: line.label, stroke: strokes[m % strokes.length], dash: dashes[m % dashes.length], width: 2 }))],
      axes: [isLast ? { ...axis, label: 'minutes' } : { ...axis, size: 4, values: () => [] }, { ...axis, label: unit, size: 60 }],
    }, [timeS.map(t => t / 60), ...lines.map(line => line.values)], at);
  }
}
for (const details of document.querySelectorAll('details')) addEventListener('beforeprint', () => { details.open = true; });
`

/** The charting library as text: its code and its style sheet. */
export interface ChartLibrary {
  readonly script: string
  readonly style: string
}

/** Data inside a script element must not end it. */
function embedded(data: unknown): string {
  return JSON.stringify(data).replaceAll('<', '\\u003c')
}

function blockHtml(block: Block, charts: readonly Chart[], drawn: 'drawn' | 'tabled'): string {
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
    case 'chart':
      return chartHtml(block.chart, charts.indexOf(block.chart), drawn)
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

/** @param library without it every chart stands as its table alone */
export async function reportPage(
  title: string,
  blocks: readonly Block[],
  library: ChartLibrary | undefined,
): Promise<string> {
  const charts = blocks.flatMap(block => (block.kind === 'chart' ? block.chart : []))
  const body = blocks.map(block => blockHtml(block, charts, library === undefined ? 'tabled' : 'drawn'))
  const isDrawn = charts.length > 0 && library !== undefined
  const scripts = isDrawn ? [inPage(library.script).replaceAll('</script', '<\\/script'), drawing] : []
  const styles = inPage((library?.style ?? '') + style)
  const data = isDrawn ? [`<script type="application/json" id="chart-data">${embedded(charts)}</script>`] : []
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
${[...data, ...scripts.map(text => `<script>${text}</script>`)].map(one => `${one}\n`).join('')}</body>
</html>
`
}
