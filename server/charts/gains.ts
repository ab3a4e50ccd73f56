/** Gains against a baseline: a dot and the interval as a line, sorted, with the line of no gain. */
import { scaleLinear } from 'd3-scale'
import { Drawing, sizes } from './drawing.ts'
import { acrossAxis, heading } from './frame.ts'
import { cutTo, textWidth } from './measure.ts'
import type { Figures, Picture, PictureOptions } from './picture.ts'

export interface GainRow {
  readonly name: string
  readonly gainPct: number
  /** Undefined where there are too few scores for one. */
  readonly intervalPct: readonly [low: number, high: number] | undefined
  readonly sentence: string
}

export interface GainsData {
  readonly title: string
  readonly note: string
  /** In any order: they are drawn from the largest gain down. */
  readonly rows: readonly GainRow[]
  readonly figures: Figures
}

const ROW = 24
const BOTTOM = 44

/** As high as its rows need, and no lower than it is asked to be. */
export function drawGains(data: GainsData, options: PictureOptions): Picture {
  const least = 100 + BOTTOM + data.rows.length * ROW
  const drawing = new Drawing({ ...options, height: Math.max(options.height, least) })
  const top = heading(drawing, data.title, data.note)
  const rows = data.rows.toSorted((a, b) => b.gainPct - a.gainPct)
  const left = Math.min(options.width * 0.45, Math.max(...rows.map(({ name }) => textWidth(name, sizes.small))) + 20)
  const plot = { x: left, y: top - 8, width: options.width - left - 20, height: drawing.height - top - BOTTOM + 8 }
  // Few rows stand in the middle of their room.
  const pitch = Math.min(ROW * 2, (plot.height - 8) / rows.length)
  const ends = [0, ...rows.flatMap(({ gainPct, intervalPct }) => [gainPct, ...(intervalPct ?? [])])]
  const [low, high] = [Math.min(...ends), Math.max(...ends)]
  const room = Math.max(0.5, (high - low) * 0.06)
  const across = scaleLinear([low - room, high + room], [plot.x, plot.x + plot.width])
  acrossAxis(drawing, across, plot, 'gain, %', Math.max(3, Math.round(plot.width / 70)))
  drawing.line(across(0), plot.y, across(0), plot.y + plot.height, 'edge')
  for (const [index, { name, gainPct, intervalPct, sentence }] of rows.entries()) {
    const y = plot.y + (plot.height - pitch * rows.length) / 2 + (index + 0.5) * pitch
    drawing.text(cutTo(name, sizes.small, left - 12), { x: left - 8, y: y + 4, anchor: 'end' }, { size: 'small' })
    drawing.mark({ sentence }, () => {
      if (intervalPct !== undefined) {
        const [from, to] = [across(intervalPct[0]), across(intervalPct[1])]
        drawing.path(`M${from} ${y - 4}v8M${from} ${y}H${to}M${to} ${y - 4}v8`, 'whisker')
      }
      // Without an interval nothing is known of its noise: it stays hollow.
      drawing.circle(across(gainPct), y, 4, intervalPct === undefined ? 'hollow' : 'point')
      drawing.rect({ x: plot.x, y: y - pitch / 2, width: plot.width, height: pitch }, 'hit')
    })
  }
  return drawing.finish(data.title, data.figures)
}
