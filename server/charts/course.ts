/** The course: clock, power and temperatures over time, one panel for each dimension above a common axis of time. */
import { scaleLinear } from 'd3-scale'
import { curveStepBefore, line } from 'd3-shape'
import { Drawing, type Spot, sizes } from './drawing.ts'
import { acrossAxis, heading, upAxis } from './frame.ts'
import { shorter, textWidth } from './measure.ts'
import type { Box, Figures, MarkPlace, Picture, PictureOptions } from './picture.ts'
import { type SeriesPoint, thinned, unbroken } from './thin.ts'

export interface CourseLine {
  readonly name: string
  /** Predicted, by time in s; NaN where there is no such figure, as of the clock while no core is at work. */
  readonly predicted: readonly SeriesPoint[]
  /** Measured; drawn as dots. */
  readonly measured: readonly SeriesPoint[]
  readonly sentence: string
}

export interface CoursePanel {
  /** With its unit: `power, W`. */
  readonly name: string
  readonly lines: readonly CourseLine[]
  /** Its values are means since the value before, and are drawn as steps. */
  readonly isStepped: boolean
  readonly levels: readonly {
    readonly at: number
    readonly text: string
    readonly sentence: string
    readonly place?: MarkPlace | undefined
    readonly kind: 'limit' | 'level' | 'wet'
  }[]
  /** Measured less predicted, in the panel's unit. */
  readonly residuals?:
    | { readonly name: string; readonly points: readonly SeriesPoint[]; readonly sentence: string }
    | undefined
}

export interface CourseData {
  readonly title: string
  readonly note: string
  readonly panels: readonly CoursePanel[]
  readonly events: readonly {
    readonly atS: number
    readonly text: string
    readonly sentence: string
    readonly place?: MarkPlace | undefined
  }[]
  /** The stretch of a log whose means count. */
  readonly counts?:
    | { readonly fromS: number; readonly toS: number; readonly text: string; readonly sentence: string }
    | undefined
  readonly endS: number
  readonly figures: Figures
}

const classes = ['main', 'second', 'third'] as const

interface Strip {
  readonly y: number
  readonly height: number
}

/** Draws the course; what does not change is a line in the middle of a panel that says so by its scale. */
export function drawCourse(data: CourseData, options: PictureOptions): Picture {
  const drawing = new Drawing(options)
  // Names of lines stand at their ends.
  const names = data.panels.flatMap(({ lines }) => lines.map(({ name }) => textWidth(name, sizes.small)))
  const plot = { x: 48, width: options.width - 48 - Math.max(24, ...names.map(width => width + 14)) }
  const top = heading(drawing, data.title, data.note)
  const isLong = data.endS > 180
  const unitS = isLong ? 60 : 1
  const across = scaleLinear([0, data.endS / unitS], [plot.x, plot.x + plot.width])
  const x = (timeS: number): number => across(timeS / unitS)
  const bottom = options.height - 46
  const strips = stripsOf(data.panels, top, bottom - top)
  const { counts } = data
  for (const { main } of strips) drawing.keep({ x: 0, y: main.y, width: plot.x, height: main.height })
  drawing.keep({ x: 0, y: bottom - 1, width: plot.x + plot.width, height: 40 })
  for (const { atS } of data.events) drawing.avoid({ x: x(atS) - 1, y: top, width: 2, height: bottom - top })
  if (counts !== undefined) {
    drawing.mark(counts, () =>
      drawing.rect(
        { x: x(counts.fromS), y: top, width: x(counts.toS) - x(counts.fromS), height: bottom - top },
        'counts',
      ),
    )
  }
  data.panels.forEach((panel, index) => {
    const { main, residual } = strips[index] as (typeof strips)[number]
    const isLast = index === data.panels.length - 1
    const axis = (strip: Strip, isLowest: boolean): void => {
      const numbers = isLast && isLowest ? 'numbers' : 'grid alone'
      acrossAxis(drawing, across, { ...plot, ...strip }, isLong ? 'time, min' : 'time, s', 8, numbers)
    }
    axis(main, residual === undefined)
    drawPanel(drawing, panel, { ...plot, ...main }, x)
    if (residual === undefined || panel.residuals === undefined) return
    axis(residual, true)
    drawResiduals(drawing, panel.residuals, { ...plot, ...residual }, x)
  })
  // The strips' names stand between them.
  const through = strips.flatMap(({ main, residual }) => [main, ...(residual === undefined ? [] : [residual])])
  for (const { atS, sentence, place } of data.events) {
    drawing.mark({ sentence, place }, () => {
      for (const { y, height } of through) drawing.line(x(atS), y, x(atS), y + height, 'event')
    })
  }
  nameEvents(drawing, data.events, strips, x)
  if (counts !== undefined) {
    const middle = (x(counts.fromS) + x(counts.toS)) / 2
    drawing.label(
      counts.text,
      [
        { x: middle, y: top - 8, anchor: 'middle' },
        { x: x(counts.toS), y: top - 8, anchor: 'end' },
        { x: plot.x + plot.width, y: top - 8, anchor: 'end' },
      ],
      { size: 'small', class: 'third-text' },
    )
  }
  return drawing.finish(data.title, data.figures)
}

/** Writes what events are called beside their lines; of some alike that lie close together, once, at the first. */
function nameEvents(
  drawing: Drawing,
  events: CourseData['events'],
  strips: readonly { readonly main: Strip }[],
  x: (timeS: number) => number,
): void {
  const named = new Map<string, number>()
  for (const { atS, text } of events) {
    const before = named.get(text)
    const at = x(atS)
    if (before !== undefined && at - before < textWidth(text, sizes.small) + 8) continue
    const spots = strips.flatMap(({ main }) =>
      Array.from({ length: Math.max(1, Math.floor((main.height - 8) / 14)) }, (_, row) => row).flatMap(
        (row): Spot[] => [
          { x: at + 4, y: main.y + main.height - 8 - row * 14 },
          { x: at - 4, y: main.y + main.height - 8 - row * 14, anchor: 'end' },
        ],
      ),
    )
    if (drawing.label(text, spots, { size: 'small', class: 'soft' })) named.set(text, at)
  }
}

/** So many numbers stand above each other without touching. */
const ticksIn = (height: number): number => Math.max(2, Math.min(6, Math.floor(height / 26)))

const GAP = 26

/** Shares the height: temperatures, which have most lines, take most. */
function stripsOf(
  panels: readonly CoursePanel[],
  top: number,
  height: number,
): { readonly main: Strip; readonly residual: Strip | undefined }[] {
  const weights = panels.map(({ lines }) => (lines.length > 1 ? 2 : 1))
  const residuals = panels.filter(panel => panel.residuals !== undefined).length
  const residualHeight = residuals === 0 ? 0 : Math.min(64, height / 8)
  const rest = height - GAP * (panels.length - 1) - residuals * (residualHeight + GAP)
  const sum = weights.reduce((all, one) => all + one, 0)
  let y = top
  return panels.map((panel, index) => {
    const main = { y, height: (rest * (weights[index] ?? 1)) / sum }
    y += main.height + GAP
    if (panel.residuals === undefined) return { main, residual: undefined }
    const residual = { y, height: residualHeight }
    y += residualHeight + GAP
    return { main, residual }
  })
}

function drawPanel(
  drawing: Drawing,
  { name, lines, levels, isStepped }: CoursePanel,
  plot: Box,
  x: (timeS: number) => number,
): void {
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]
  // A day has too many values to be given to a function one by one.
  for (const { value } of lines.flatMap(({ predicted, measured }) => [...predicted, ...measured])) {
    if (value < least) least = value
    if (value > most) most = value
  }
  if (least > most) return
  const span = Math.max(most - least, Math.abs(most) * 0.02, 1e-6)
  // Levels near what happens are shown; one far away would press the course flat.
  const near = levels.filter(({ at }) => at > least - span * 0.6 && at < most + span * 0.6)
  const all = [...near.map(({ at }) => at), least, most]
  const [lowest, highest] = [Math.min(...all), Math.max(...all)]
  // Below the lowest line there is room for its name.
  const isLevelLowest = near.some(({ at }) => at === lowest)
  const below = isLevelLowest ? Math.max(span * 0.08, ((highest - lowest) * 19) / plot.height) : span * 0.08
  const up = scaleLinear([lowest - below, highest + span * 0.12], [plot.y + plot.height, plot.y])
  upAxis(drawing, up, plot, name, ticksIn(plot.height))
  const right = plot.x + plot.width
  for (const level of near) {
    const y = up(level.at)
    drawing.mark(level, () =>
      drawing.line(plot.x, y, right, y, level.kind === 'limit' ? 'limit' : level.kind === 'wet' ? 'wet-line' : 'level'),
    )
    drawing.keep({ x: plot.x, y: y - 1, width: plot.width, height: 2 })
  }
  const columns = Math.round(plot.width / 2)
  const shape = line<SeriesPoint>()
    .digits(1)
    .x(({ at }) => x(at))
    .y(({ value }) => up(value))
  // Clock and power are means since the value before; what they are called says it in the table.
  const stepped = line<SeriesPoint>()
    .digits(1)
    .x(({ at }) => x(at))
    .y(({ value }) => up(value))
    .curve(curveStepBefore)
  const ends: { readonly name: string; readonly y: number; readonly kind: (typeof classes)[number] }[] = []
  lines.forEach((one, index) => {
    const kind = classes[index % classes.length] as (typeof classes)[number]
    const draw = isStepped ? stepped : shape
    drawing.mark(one, () => {
      drawing.dots(
        thinned(one.measured, Math.round(columns / 2)).map(({ at, value }) => ({ x: x(at), y: up(value) })),
        'dots',
      )
      const paths = unbroken(one.predicted).map(points => draw([...thinned(points, columns)]) ?? '')
      drawing.path(paths.join(''), kind)
    })
    const end = one.predicted.findLast(({ value }) => !Number.isNaN(value)) ?? one.measured.at(-1)
    if (end !== undefined && lines.length > 1) ends.push({ name: one.name, y: up(end.value), kind })
    keepClear(drawing, one, x, up)
  })
  // Names at the ends keep a line's height between them, and stay beside their panel.
  let free = Number.NEGATIVE_INFINITY
  const lowestBase = plot.y + plot.height + 4
  for (const [at, { name: text, y, kind }] of ends.sort((a, b) => a.y - b.y).entries()) {
    const base = Math.max(Math.min(y + 4, lowestBase - (ends.length - 1 - at) * 13), free + 13)
    free = base
    drawing.text(text, { x: right + 6, y: base }, { size: 'small', class: `${kind}-text` })
  }
  for (const level of near) {
    const y = up(level.at)
    // A label stays at its panel and next to its own line: another line between them would take it.
    const isOwn = (by: number): boolean =>
      near.every(other => other === level || (up(other.at) - y) * by < 0 || Math.abs(up(other.at) - y) > Math.abs(by))
    const spots = [-4, 13, -12, 22].flatMap((by): Spot[] =>
      y + by - 9 < plot.y - 16 || y + by > plot.y + plot.height - 3 || !isOwn(by)
        ? []
        : [
            { x: right - 4, y: y + by, anchor: 'end' },
            { x: plot.x + 4, y: y + by },
            ...[0.3, 0.55, 0.7, 0.42].map(
              (part): Spot => ({ x: plot.x + plot.width * part, y: y + by, anchor: 'middle' }),
            ),
          ],
    )
    const options = { size: 'small', class: level.kind === 'limit' ? 'limit-text' : 'soft' } as const
    // A figure alone beside the scale would read as one of its numbers.
    const inside = spots.filter(({ anchor }) => anchor !== undefined)
    shorter(level.text).some(text => drawing.label(text, /^[−\d]/.test(text) ? inside : spots, options))
  }
}

/** Labels keep clear of a line and of its dots. */
function keepClear(
  drawing: Drawing,
  { predicted, measured }: CourseLine,
  x: (timeS: number) => number,
  up: (value: number) => number,
): void {
  for (const points of [...unbroken(predicted), measured]) {
    const places = thinned(points, 80).map(({ at, value }) => ({ x: x(at), y: up(value) }))
    for (const [index, place] of places.entries()) {
      const next = places[index + 1] ?? place
      const [top, bottom] = [Math.min(place.y, next.y), Math.max(place.y, next.y)]
      drawing.keep({ x: place.x - 1, y: top - 1.5, width: Math.max(2, next.x - place.x), height: bottom - top + 3 })
    }
  }
}

function drawResiduals(
  drawing: Drawing,
  { name, points, sentence }: NonNullable<CoursePanel['residuals']>,
  plot: Box,
  x: (timeS: number) => number,
): void {
  // The first seconds, where a die moves by tens of kelvin, would press the rest flat: what is beyond lies at the edge.
  const sizesOf = points.map(({ value }) => Math.abs(value)).sort((a, b) => a - b)
  const usual = sizesOf[Math.floor(sizesOf.length * 0.98)] ?? 0
  const most = Math.max(1, Math.min(sizesOf.at(-1) ?? 0, usual * 1.5))
  const up = scaleLinear([-most * 1.1, most * 1.1], [plot.y + plot.height, plot.y])
  upAxis(drawing, up, plot, name, 2)
  drawing.line(plot.x, up(0), plot.x + plot.width, up(0), 'axis')
  drawing.mark({ sentence }, () => {
    drawing.dots(
      thinned(points, Math.round(plot.width / 4)).map(({ at, value }) => {
        return { x: x(at), y: up(Math.max(-most, Math.min(most, value))) }
      }),
      'dots',
    )
  })
}
