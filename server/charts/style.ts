/** How the parts of a chart look: the same names everywhere, with the colours of the place where it is shown. */
import { escapedXml } from './drawing.ts'
import type { Picture } from './picture.ts'

/** The colours of a place. Marks differ from the paper by 3 : 1 at least, text by 4.5 : 1. */
interface Palette {
  readonly paper: string
  readonly ink: string
  readonly soft: string
  readonly grid: string
  readonly cell: string
  readonly main: string
  readonly second: string
  readonly third: string
  readonly limit: string
}

const light: Palette = {
  paper: '#ffffff',
  ink: '#1c1c1c',
  soft: '#595959',
  grid: '#dcdcdc',
  cell: '#2a6fa8',
  main: '#0b5f94',
  second: '#b3400a',
  third: '#3f6d10',
  limit: '#b3261e',
}

const dark: Palette = {
  paper: '#1b1b1b',
  ink: '#ececec',
  soft: '#b0b0b0',
  grid: '#3d3d3d',
  cell: '#6db3e8',
  main: '#6db3e8',
  second: '#f0955a',
  third: '#9ccc65',
  limit: '#ff8a80',
}

/** Read on light and on dark grounds alike, for a picture that does not know where it is shown. */
const neutral: Palette = {
  paper: 'none',
  ink: '#7a7a7a',
  soft: '#7a7a7a',
  grid: '#8080804d',
  cell: '#5b8fbd',
  main: '#3d86bf',
  second: '#c9682c',
  third: '#68913a',
  limit: '#d3574c',
}

const names = Object.keys(light) as readonly (keyof Palette)[]
const asVariables = (palette: Palette): string => names.map(name => `--${name}:${palette[name]}`).join(';')

/** What every chart needs beside its colours, which stand in variables: `--ink`, `--paper` and so on. */
export const chartStyle = `.detent-chart text{font-family:system-ui,"Segoe UI",Arial,"Liberation Sans",sans-serif;fill:var(--ink)}
.detent-chart .soft{fill:var(--soft)}
.detent-chart .strong{font-weight:600}
.detent-chart .over{paint-order:stroke;stroke:var(--paper);stroke-width:3;stroke-linejoin:round}
.detent-chart .limit-text{fill:var(--limit)}
.detent-chart .main-text{fill:var(--main)}
.detent-chart .second-text{fill:var(--second)}
.detent-chart .third-text{fill:var(--third)}
.detent-chart .paper{fill:var(--paper)}
.detent-chart line,.detent-chart path{fill:none;stroke:var(--ink);stroke-width:1}
.detent-chart .grid{stroke:var(--grid)}
.detent-chart .axis{stroke:var(--soft)}
.detent-chart .hatch{stroke:var(--soft);stroke-opacity:.3}
.detent-chart .edge{stroke:var(--ink);stroke-width:1.25}
.detent-chart .limit{stroke:var(--limit);stroke-width:2}
.detent-chart .cap{stroke:var(--second);stroke-width:1.5;stroke-dasharray:7 3}
.detent-chart .thin{stroke:var(--second);stroke-width:1.25;stroke-dasharray:2 3}
.detent-chart .cell{fill:var(--cell)}
.detent-chart .cell-0{fill-opacity:.3}.detent-chart .cell-1{fill-opacity:.2}.detent-chart .cell-2{fill-opacity:.13}.detent-chart .cell-3{fill-opacity:.08}.detent-chart .cell-4{fill-opacity:.04}
.detent-chart .main{stroke:var(--main);stroke-width:2}
.detent-chart .second{stroke:var(--second);stroke-width:2;stroke-dasharray:8 4}
.detent-chart .third{stroke:var(--third);stroke-width:2;stroke-dasharray:2 3}
.detent-chart .made-1{stroke:var(--second);stroke-width:1.5;stroke-dasharray:3 3}
.detent-chart .moved{stroke:var(--second);stroke-width:1;stroke-dasharray:2 4}
.detent-chart .level{stroke:var(--soft);stroke-dasharray:5 3}
.detent-chart .wet-line{stroke:var(--main);stroke-dasharray:2 2}
.detent-chart .wet{fill:var(--main);fill-opacity:.14}
.detent-chart .counts{fill:var(--third);fill-opacity:.16}
.detent-chart .point{fill:var(--main);stroke:var(--paper);stroke-width:1}
.detent-chart .joined{stroke:var(--main);stroke-width:2}
.detent-chart .hollow{fill:var(--paper);stroke:var(--main);stroke-width:1.25}
.detent-chart .passed{stroke:var(--main);stroke-width:1;stroke-opacity:.6}
.detent-chart .ring{fill:none;stroke:var(--limit);stroke-width:2}
.detent-chart .dots{stroke:var(--ink);stroke-opacity:.55;stroke-width:2.8;stroke-linecap:round}
.detent-chart .stop{fill:none;stroke:var(--limit);stroke-width:1.75}
.detent-chart .stated{stroke:var(--ink);stroke-width:1.5}
.detent-chart .whisker{stroke:var(--second);stroke-width:1.5}
.detent-chart .square{fill:var(--second)}
.detent-chart .given{fill:none;stroke:var(--third);stroke-width:2}
.detent-chart .proposal{fill:none;stroke:var(--ink);stroke-width:1.5;stroke-dasharray:2 2}
.detent-chart .plain{stroke-width:1.5;stroke-opacity:.75}
.detent-chart .main-shape{fill:var(--main);stroke:var(--main)}
.detent-chart .second-shape{fill:var(--second);stroke:var(--second)}
.detent-chart .third-shape{fill:var(--third);stroke:var(--third)}
.detent-chart .event{stroke:var(--soft);stroke-dasharray:1 2}
.detent-chart .hit{fill:transparent;stroke:none}
.detent-chart .here line,.detent-chart .here path:not(.dots),.detent-chart .here circle{stroke-width:3.5}
.detent-chart .here text{font-weight:700}
@media (forced-colors:active){.detent-chart{--paper:Canvas;--ink:CanvasText;--soft:CanvasText;--grid:GrayText;--cell:CanvasText;--main:LinkText;--second:CanvasText;--third:CanvasText;--limit:Highlight}}
`

/** Colours for a page that has a light and a dark side. */
export const pageColours = `.detent-chart{${asVariables(light)}}
@media (prefers-color-scheme:dark){.detent-chart{${asVariables(dark)}}}
@media print{.detent-chart{${asVariables(light)}}}
`

/** A picture as an element of a page that has `chartStyle`. */
export function svgElement({ width, height, title, body }: Picture): string {
  return `<svg class="detent-chart" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img" aria-label="${escapedXml(title)}">${body}</svg>`
}

function withStyle(picture: Picture, style: string, ground: string): string {
  const { width, height, title, body } = picture
  return `<svg class="detent-chart" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" role="img">\n<title>${escapedXml(title)}</title>\n<style>${escapedXml(style).replaceAll('&quot;', '"').replaceAll('&gt;', '>')}</style>${ground}${body}</svg>\n`
}

/** A picture as a file of its own, light or dark as the reader's screen is. */
export function svgFile(picture: Picture): string {
  const ground = `<rect class="paper" width="${picture.width}" height="${picture.height}"/>`
  return withStyle(picture, pageColours + chartStyle, ground)
}

/** A picture as an address that Markdown can show, on light and dark grounds alike. */
export function svgDataUri(picture: Picture): string {
  const used = chartStyle
    .split('\n')
    .filter(rule => {
      const classes = [...rule.matchAll(/\.detent-chart \.([\w-]+)/g)].map(([, name]) => name ?? '')
      return !rule.startsWith('@') && (classes.length === 0 || classes.some(name => picture.body.includes(name)))
    })
    .join('\n')
  const text = withStyle(picture, `.detent-chart{${asVariables(neutral)}}${used}`, '')
  const bytes = new TextEncoder().encode(text)
  let binary = ''
  for (const byte of bytes) binary += String.fromCharCode(byte)
  return `data:image/svg+xml;base64,${btoa(binary)}`
}
