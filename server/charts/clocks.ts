/** Clock by active cores of several profiles in one plot: steps, told apart by dashes and shapes as well as by colour. */
import { scaleLinear } from 'd3-scale'
import { Drawing, type Spot, sizes } from './drawing.ts'
import { acrossAxis, heading, plotBox, upAxis } from './frame.ts'
import { cutTo, textWidth } from './measure.ts'
import type { Figures, Picture, PictureOptions } from './picture.ts'

interface ClockLine {
  readonly name: string
  /** Cores rising; a count without a steady clock is left out. */
  readonly points: readonly { readonly cores: number; readonly clockGhz: number; readonly sentence: string }[]
}

export interface ClocksData {
  readonly title: string
  readonly note: string
  readonly lines: readonly ClockLine[]
  readonly figures: Figures
}

/** Colours come again after three lines, shapes after five: no two of fifteen lines look alike. */
const colours = ['main', 'second', 'third'] as const

/** What makes a line's marks known without its colour. */
const shapes: readonly ((drawing: Drawing, x: number, y: number, name: string) => void)[] = [
  (drawing, x, y, name) => drawing.circle(x, y, 3, name),
  (drawing, x, y, name) => drawing.rect({ x: x - 3, y: y - 3, width: 6, height: 6 }, name),
  (drawing, x, y, name) => drawing.path(`M${x - 4} ${y + 3}L${x} ${y - 4}L${x + 4} ${y + 3}Z`, name),
  (drawing, x, y, name) => drawing.path(`M${x - 4} ${y}L${x} ${y - 4}L${x + 4} ${y}L${x} ${y + 4}Z`, name),
  (drawing, x, y, name) => drawing.path(`M${x - 4} ${y - 3}L${x} ${y + 4}L${x + 4} ${y - 3}Z`, name),
]

function shape(drawing: Drawing, index: number, x: number, y: number, colour: string): void {
  shapes[index % shapes.length]?.(drawing, x, y, `shape ${colour}-shape`)
}

export function drawClocks(data: ClocksData, options: PictureOptions): Picture {
  const drawing = new Drawing(options)
  const lines = data.lines.filter(({ points }) => points.length > 0)
  const widest = Math.max(0, ...lines.map(({ name }) => textWidth(name, sizes.small)))
  const plot = plotBox(options, Math.min(options.width * 0.42, widest + 26), heading(drawing, data.title, data.note))
  const all = lines.flatMap(({ points }) => points)
  const most = Math.max(2, ...all.map(({ cores }) => cores))
  const clocks = all.map(({ clockGhz }) => clockGhz)
  const [low, high] = [Math.min(...clocks), Math.max(...clocks)]
  const room = Math.max(0.1, (high - low) * 0.08)
  const across = scaleLinear([0.5, most + 0.5], [plot.x, plot.x + plot.width])
  const up = scaleLinear([low - room, high + room], [plot.y + plot.height, plot.y])
  upAxis(drawing, up, plot, 'clock, GHz', 6)
  acrossAxis(drawing, across, plot, 'active cores', Math.min(most, Math.floor(plot.width / 30)))
  const ends: { readonly text: string; readonly y: number; readonly index: number }[] = []
  for (const [index, { name, points }] of lines.entries()) {
    const colour = colours[index % colours.length] as string
    for (const [at, { cores, clockGhz, sentence }] of points.entries()) {
      const [x, y] = [across(cores), up(clockGhz)]
      const next = points[at + 1]
      drawing.mark({ sentence }, () => {
        if (next !== undefined)
          drawing.path(
            `M${x.toFixed(1)} ${y.toFixed(1)}H${across(next.cores).toFixed(1)}V${up(next.clockGhz).toFixed(1)}`,
            `${colour} plain`,
          )
        shape(drawing, index, x, y, colour)
        drawing.rect({ x: x - 6, y: y - 6, width: 12, height: 12 }, 'hit')
      })
    }
    const last = points.at(-1)
    if (last !== undefined) ends.push({ text: name, y: up(last.clockGhz), index })
  }
  // Names at the ends keep a line's height between them, and a shape of their own where they had to move.
  let free = Number.NEGATIVE_INFINITY
  const right = plot.x + plot.width
  const sorted = ends.sort((a, b) => a.y - b.y)
  const lowest = plot.y + plot.height + 4
  for (const [at, { text, y, index }] of sorted.entries()) {
    const below = sorted.length - 1 - at
    const base = Math.max(Math.min(y + 4, lowest - below * 13), free + 13)
    free = base
    const colour = colours[index % colours.length] as string
    shape(drawing, index, right + 8, base - 4, colour)
    const spot: Spot = { x: right + 15, y: base }
    drawing.text(cutTo(text, sizes.small, options.width - spot.x - 2), spot, { size: 'small', class: `${colour}-text` })
  }
  return drawing.finish(data.title, data.figures)
}
