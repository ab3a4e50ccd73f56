/** The frame of a plot: grid, axes with their units, and what the scales are called. */
import type { ScaleLinear } from 'd3-scale'
import { type Drawing, sizes } from './drawing.ts'
import { STRONG, textWidth, wrapped } from './measure.ts'
import type { Box, PictureOptions } from './picture.ts'

/** A small picture, as in a hover, has no title, and names its scales in one line. */
export const isSmallPicture = ({ height }: PictureOptions): boolean => height < 200

/**
 * Writes what a chart shows and what it is true for, in as many lines as the width takes.
 * @returns where the plot may begin: below it and the name of its scale
 */
export function heading(drawing: Drawing, title: string, note: string): number {
  const width = drawing.width - 16
  let y = 18
  for (const text of wrapped(title, sizes.title, width / STRONG, 3)) {
    drawing.text(text, { x: 8, y }, { size: 'title', class: 'ink strong' })
    y += 17
  }
  for (const text of wrapped(note, sizes.small, width, 3)) {
    drawing.text(text, { x: 8, y }, { size: 'small', class: 'soft' })
    y += 14
  }
  return y + 17
}

/**
 * Where the plot lies in the picture.
 * @param right what is left free beside it; in a small picture 8 pixels less
 * @param top where it may begin; a small picture has no heading
 */
export function plotBox(options: PictureOptions, right: number, top: number): Box {
  const { width, height } = options
  return isSmallPicture(options)
    ? { x: 34, y: 20, width: width - 34 - (right - 8), height: height - 40 }
    : { x: 48, y: top, width: width - 48 - right, height: height - 46 - top }
}

/** Keeps labels away from the numbers of both scales: beside them a label would read as one of them. */
export function keepScales(drawing: Drawing, { x, y, width, height }: Box): void {
  drawing.keep({ x: 0, y, width: x, height: height + 8 })
  drawing.keep({ x: 0, y: y + height - 1, width: x + width, height: 40 })
}

/** Writes ticks of a scale without a negative zero, with the true minus. */
function tickText(scale: ScaleLinear<number, number>, count: number): (value: number) => string {
  const format = scale.tickFormat(count)
  return value => {
    const text = format(value).replaceAll('\u2212', '−').replaceAll(',', '')
    return /^−0(?:\.0*)?$/.test(text) ? text.slice(1) : text
  }
}

const everySecond = (all: readonly number[], from: number): number[] => all.filter((_, index) => index % 2 === from)

/**
 * The numbers of a scale that goes up, at least two where it is high enough: one alone is no scale. In a low strip every
 * second of finer ones, zero among them where that leaves two.
 */
function numbersOf(scale: ScaleLinear<number, number>, count: number): readonly [count: number, values: number[]] {
  for (const finer of [count, count + 1, count + 2, count + 3]) {
    const all = scale.ticks(finer)
    const zero = Math.max(0, all.indexOf(0))
    const chosen = [all, everySecond(all, zero % 2), everySecond(all, (zero + 1) % 2)]
    for (const values of chosen) {
      const [first, second] = values
      const pitch = first === undefined || second === undefined ? 0 : Math.abs(scale(second) - scale(first))
      if (pitch > sizes.small * 1.2) return [finer, values]
    }
  }
  return [count, scale.ticks(count)]
}

/** Draws the scale that goes up, with a grid; its name stands above it, where it reads as it is. */
export function upAxis(
  drawing: Drawing,
  scale: ScaleLinear<number, number>,
  plot: Box,
  name: string,
  count: number,
): void {
  const [fine, values] = numbersOf(scale, count)
  const write = tickText(scale, fine)
  for (const value of values) {
    const y = scale(value)
    drawing.line(plot.x, y, plot.x + plot.width, y, 'grid')
    drawing.text(
      write(value),
      { x: plot.x - 6, y: y + sizes.small * 0.35, anchor: 'end' },
      { size: 'small', class: 'soft' },
    )
  }
  if (name !== '') {
    // Beside the numbers it would have to stand on its side.
    drawing.text(name, { x: Math.max(2, plot.x - 40), y: plot.y - 10 }, { size: 'small', class: 'soft' })
  }
}

/** Draws the scale that goes across; its name stands below its right end. */
export function acrossAxis(
  drawing: Drawing,
  scale: ScaleLinear<number, number>,
  plot: Box,
  name: string,
  count: number,
  numbers: 'numbers' | 'grid alone' = 'numbers',
): void {
  const write = tickText(scale, count)
  const bottom = plot.y + plot.height
  let free = Number.NEGATIVE_INFINITY
  for (const value of scale.ticks(count)) {
    const x = scale(value)
    drawing.line(x, plot.y, x, bottom, 'grid')
    if (numbers === 'grid alone') continue
    const half = textWidth(write(value), sizes.small) / 2
    if (x - half < free || x + half > drawing.width) continue
    free = x + half + 4
    drawing.text(write(value), { x, y: bottom + 16, anchor: 'middle' }, { size: 'small', class: 'soft' })
  }
  drawing.line(plot.x, bottom, plot.x + plot.width, bottom, 'axis')
  if (numbers === 'numbers' && name !== '') {
    drawing.text(name, { x: plot.x + plot.width, y: bottom + 32, anchor: 'end' }, { size: 'small', class: 'soft' })
  }
}
