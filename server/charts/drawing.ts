/** The sheet that a chart is drawn on: shapes, labels that keep clear of each other, and marks. */
import { STRONG, textWidth } from './measure.ts'
import {
  type Box,
  type Figures,
  type LabelBox,
  type Mark,
  overlaps,
  type Picture,
  type PictureOptions,
} from './picture.ts'

type Attributes = Readonly<Record<string, string | number | undefined>>

/** Sizes of text, in the picture's units. */
export const sizes = { title: 14, label: 12, small: 11 } as const
type TextSize = keyof typeof sizes

type Anchor = 'start' | 'middle' | 'end'

/** A place that a label may take: the point that it starts at, is centred on or ends at; y is its base line. */
export interface Spot {
  readonly x: number
  readonly y: number
  readonly anchor?: Anchor
}

export interface LabelOptions {
  readonly size?: TextSize
  readonly class?: string
}

const escapes: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
}

/** Text within SVG; signs that XML does not allow are left out. */
export function escapedXml(text: string): string {
  let allowed = ''
  for (const sign of text) {
    const code = sign.codePointAt(0) ?? 0
    const isControl = code < 32 && code !== 9 && code !== 10 && code !== 13
    if (!isControl && code !== 0xfffe && code !== 0xffff && !(code >= 0xd800 && code <= 0xdfff)) allowed += sign
  }
  return allowed.replace(/[&<>"']/g, sign => escapes[sign] ?? sign)
}

/** A number as it stands in SVG: to a hundredth, so that the same chart is the same text everywhere. */
function shown(value: number): string {
  return String(Math.round(value * 100) / 100 + 0)
}

const tenth = (value: number): number => Math.round(value * 10) / 10

function tag(name: string, attributes: Attributes, inner?: string): string {
  const written = Object.entries(attributes).flatMap(([key, value]) =>
    value === undefined ? [] : ` ${key}="${typeof value === 'number' ? shown(value) : escapedXml(value)}"`,
  )
  return inner === undefined ? `<${name}${written.join('')}/>` : `<${name}${written.join('')}>${inner}</${name}>`
}

/** How far above and below its base line text reaches, in its size. */
const ASCENT = 0.8
const DESCENT = 0.22
/** So far from each other labels stand at least. */
const APART = 4

function boxOf(text: string, { x, y, anchor = 'start' }: Spot, options: LabelOptions): LabelBox {
  const em = sizes[options.size ?? 'label']
  const width = textWidth(text, em) * (options.class?.includes('strong') === true ? STRONG : 1)
  const left = anchor === 'start' ? x : anchor === 'middle' ? x - width / 2 : x - width
  return { text, x: left, y: y - ASCENT * em, width, height: (ASCENT + DESCENT) * em }
}

export class Drawing {
  readonly width: number
  readonly height: number
  readonly #id: string
  readonly #isHere: PictureOptions['isHere']
  readonly #parts: string[] = []
  readonly #labels: LabelBox[] = []
  readonly #kept: Box[] = []
  readonly #avoided: Box[] = []
  readonly #marks: Mark[] = []
  #needsHatch = false

  constructor({ width, height, id = 'chart', isHere }: PictureOptions) {
    this.width = width
    this.height = height
    this.#id = id
    this.#isHere = isHere
  }

  #add(part: string): void {
    this.#parts.push(part)
  }

  rect({ x, y, width, height }: Box, name: string): void {
    if (width > 0 && height > 0) this.#add(tag('rect', { class: name, x, y, width, height }))
  }

  /** A stretch that is crossed by thin lines, as what does not count. */
  hatched(box: Box): void {
    if (!(box.width > 0 && box.height > 0)) return
    this.#needsHatch = true
    const { x, y, width, height } = box
    this.#add(tag('rect', { x, y, width, height, fill: `url(#${this.#id}-hatch)` }))
  }

  line(x1: number, y1: number, x2: number, y2: number, name: string): void {
    this.#add(tag('line', { class: name, x1, y1, x2, y2 }))
  }

  circle(cx: number, cy: number, r: number, name: string): void {
    this.#add(tag('circle', { class: name, cx, cy, r }))
  }

  /** Many dots at once: strokes without a length, whose round ends are as wide as the class says. */
  dots(places: readonly { readonly x: number; readonly y: number }[], name: string): void {
    this.path(places.map(({ x, y }) => `M${tenth(x)} ${tenth(y)}h0`).join(''), name)
  }

  path(d: string | null, name: string): void {
    if (d !== null && d !== '') this.#add(tag('path', { class: name, d }))
  }

  /** Draws what belongs to one mark: it is pointed at, stepped to and read out as one. */
  mark(mark: Mark, draw: () => void): void {
    const from = this.#parts.length
    draw()
    const inner = this.#parts.splice(from).join('')
    const here = mark.place !== undefined && this.#isHere?.(mark.place) === true
    const index = this.#marks.push(mark) - 1
    const name = here ? 'mark here' : 'mark'
    this.#add(tag('g', { class: name, 'data-mark': index }, `${tag('title', {}, escapedXml(mark.sentence))}${inner}`))
  }

  /** Keeps labels away from a place. */
  keep(box: Box): void {
    this.#kept.push(box)
  }

  /** Labels take a place here only where there is no other: a thin line behind letters can be read through. */
  avoid(box: Box): void {
    this.#avoided.push(box)
  }

  isFree(box: Box): boolean {
    const inside = box.x >= 0 && box.y >= 0 && box.x + box.width <= this.width && box.y + box.height <= this.height
    // Two labels side by side would read as one without room between them.
    const wide = { ...box, x: box.x - APART, width: box.width + 2 * APART }
    return (
      inside && !this.#labels.some(other => overlaps(wide, other)) && !this.#kept.some(other => overlaps(box, other))
    )
  }

  /** Writes text where it is wanted, whatever else stands there. */
  text(text: string, spot: Spot, options: LabelOptions = {}): void {
    const { size = 'label', class: name = 'ink' } = options
    this.#labels.push(boxOf(text, spot, options))
    const { x, y, anchor = 'start' } = spot
    const attributes = {
      class: name,
      x,
      y,
      'font-size': sizes[size],
      'text-anchor': anchor === 'start' ? undefined : anchor,
    }
    this.#add(tag('text', attributes, escapedXml(text)))
  }

  /**
   * Writes text at the first of some places where it is free; where none is, it is left to the marks and the table. Over a
   * thin line it has an edge of the paper's colour, so that the line ends beside the letters.
   * @param text several lines stand below each other, the first at the place
   * @returns whether it is written
   */
  label(text: string, spots: readonly Spot[], options: LabelOptions = {}): boolean {
    const lines = text.split('\n')
    const pitch = sizes[options.size ?? 'label'] * 1.15
    const lineAt = (spot: Spot, index: number): Spot => ({ ...spot, y: spot.y + index * pitch })
    let best: { readonly spot: Spot; readonly crossed: number } | undefined
    for (const spot of spots) {
      const boxes = lines.map((line, index) => boxOf(line, lineAt(spot, index), options))
      if (!boxes.every(box => this.isFree(box))) continue
      const crossed = this.#avoided.filter(other => boxes.some(box => overlaps(box, other))).length
      if (best === undefined || crossed < best.crossed) best = { spot, crossed }
      if (crossed === 0) break
    }
    if (best === undefined) return false
    const { class: name = 'ink' } = options
    const { spot, crossed } = best
    for (const [index, line] of lines.entries())
      this.text(line, lineAt(spot, index), crossed === 0 ? options : { ...options, class: `${name} over` })
    return true
  }

  finish(title: string, figures: Figures): Picture {
    const hatch = `<defs><pattern id="${this.#id}-hatch" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line class="hatch" x1="0" y1="0" x2="0" y2="7"/></pattern></defs>`
    const body = `${this.#needsHatch ? hatch : ''}${this.#parts.join('')}`
    const { width, height } = this
    return { width, height, title, body, marks: this.#marks, labels: this.#labels, figures }
  }
}
