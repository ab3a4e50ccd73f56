/** The cooling chart: heat across, plate temperature up; where heat made meets heat carried, and what ends the margin. */
import { scaleLinear } from 'd3-scale'
import { line } from 'd3-shape'
import { Drawing, type Spot } from './drawing.ts'
import { acrossAxis, heading, isSmallPicture, keepScales, plotBox, upAxis } from './frame.ts'
import { shorter } from './measure.ts'
import type { Box, Figures, MarkPlace, Picture, PictureOptions } from './picture.ts'

interface CurvePlace {
  readonly heatW: number
  readonly plateC: number
}

/** A temperature or a heat that is drawn as a straight line. */
export interface Level {
  readonly at: number
  readonly text: string
  readonly sentence: string
  readonly place?: MarkPlace | undefined
}

export interface CoolingData {
  readonly title: string
  readonly note: string
  readonly carried: {
    readonly points: readonly CurvePlace[]
    readonly text: string
    readonly sentence: string
    readonly place?: MarkPlace | undefined
  }
  /** The last is the one that the load settles on. */
  readonly made: readonly { readonly points: readonly CurvePlace[]; readonly text: string; readonly sentence: string }[]
  /** The last made curve with the margin added. */
  readonly moved: readonly CurvePlace[]
  /** Absent where nothing is steady. */
  readonly settled?:
    | (CurvePlace & { readonly text: string; readonly sentence: string; readonly place?: MarkPlace | undefined })
    | undefined
  readonly edge?: (CurvePlace & { readonly text: string; readonly sentence: string }) | undefined
  readonly margin?:
    | { readonly fromW: number; readonly toW: number; readonly text: string; readonly sentence: string }
    | undefined
  /** The dew or frost point; only of coolers that can get there. */
  readonly wet?: Level | undefined
  readonly target?: Level | undefined
  readonly rating?: Level | undefined
  /** Current through a module at some heats along the carried curve. */
  readonly currents: readonly (CurvePlace & { readonly text: string; readonly sentence: string })[]
  readonly figures: Figures
}

/** The made curves leave the picture upwards; as much as this of them is shown above what matters. */
const HEADROOM = 0.22

/** Curves are kept clear in pieces of this length. */
const PIECE = 6

export function drawCooling(data: CoolingData, options: PictureOptions): Picture {
  const drawing = new Drawing(options)
  const isSmall = isSmallPicture(options)
  const top = isSmall ? 0 : heading(drawing, data.title, data.note)
  const plot = plotBox(options, 20, top)
  const right = plot.x + plot.width
  const bottom = plot.y + plot.height
  const mostW = Math.max(...data.carried.points.map(({ heatW }) => heatW), data.settled?.heatW ?? 0, 1)
  const matter = [
    ...data.carried.points.map(({ plateC }) => plateC),
    ...[data.settled?.plateC, data.edge?.plateC, data.wet?.at, data.target?.at].filter(value => value !== undefined),
  ]
  const [lowC, highC] = [Math.min(...matter), Math.max(...matter)]
  const span = Math.max(8, highC - lowC)
  const across = scaleLinear([0, mostW], [plot.x, right])
  // Below a dew point there is room for its name.
  const floor = data.wet === undefined ? 0.12 : Math.max(0.12, (22 / plot.height) * (1 + HEADROOM))
  const up = scaleLinear([lowC - span * floor, highC + span * HEADROOM], [bottom, plot.y])
  const [leastC = 0, mostC = 0] = up.domain()
  const isInside = ({ heatW, plateC }: CurvePlace): boolean =>
    heatW >= 0 && heatW <= mostW && plateC >= leastC && plateC <= mostC
  const curve = line<CurvePlace>()
    .digits(1)
    .defined(isInside)
    .x(({ heatW }) => across(heatW))
    .y(({ plateC }) => up(plateC))

  if (isSmall) drawing.text('plate °C by heat in W', { x: plot.x, y: 13 }, { size: 'small', class: 'soft' })
  upAxis(drawing, up, plot, isSmall ? '' : 'plate temperature, °C', isSmall ? 3 : 6)
  acrossAxis(
    drawing,
    across,
    plot,
    isSmall ? '' : 'heat, W',
    isSmall ? 5 : Math.max(4, Math.min(8, Math.round(plot.width / 45))),
  )
  keepScales(drawing, plot)

  const small = { size: 'small' } as const
  const { wet, target, rating } = data
  /** Labels of lines that go right across take what room the others leave. */
  const inTheEnd: (() => void)[] = []
  if (wet !== undefined) {
    const y = up(Math.max(leastC, wet.at))
    drawing.mark(wet, () => {
      drawing.rect({ x: plot.x, y, width: plot.width, height: bottom - y }, 'wet')
      drawing.line(plot.x, y, right, y, 'wet-line')
    })
    inTheEnd.push(() =>
      shorter(wet.text).some(text => drawing.label(text, alongLevel(plot, y), { ...small, class: 'main-text' })),
    )
  }
  if (target !== undefined) {
    const y = up(target.at)
    drawing.mark(target, () => drawing.line(plot.x, y, right, y, 'level'))
    inTheEnd.push(() => drawing.label(target.text, alongLevel(plot, y), { ...small, class: 'soft' }))
  }
  if (rating !== undefined && rating.at <= mostW) {
    const x = across(rating.at)
    drawing.mark(rating, () => drawing.line(x, plot.y, x, bottom, 'level'))
    inTheEnd.push(() => {
      const spots = [12, bottom - plot.y - 6, 28].flatMap((y): Spot[] => [
        { x: x - 4, y: plot.y + y, anchor: 'end' },
        { x: x + 4, y: plot.y + y },
      ])
      drawing.label(rating.text, spots, { ...small, class: 'soft' })
    })
  }
  for (const level of [wet?.at, target?.at]) {
    if (level !== undefined) drawing.avoid({ x: plot.x, y: up(level) - 1, width: plot.width, height: 2 })
  }
  if (rating !== undefined && rating.at <= mostW)
    drawing.avoid({ x: across(rating.at) - 1, y: plot.y, width: 2, height: plot.height })
  drawing.path(curve([...data.moved]), 'moved')
  const last = data.made.length - 1
  data.made.forEach((made, index) => {
    drawing.mark(made, () => drawing.path(curve([...made.points]), index === last ? 'second' : 'made-1'))
  })
  drawing.mark(data.carried, () => drawing.path(curve([...data.carried.points]), 'main'))
  // Labels keep clear of the curves.
  for (const points of [data.carried.points, ...data.made.map(one => one.points)])
    for (const box of alongBoxes(points.filter(isInside), across, up)) drawing.keep(box)
  for (const box of alongBoxes(data.moved.filter(isInside), across, up)) drawing.avoid(box)

  const edge = data.edge !== undefined && isInside(data.edge) ? data.edge : undefined
  if (edge !== undefined) {
    const [x, y] = [across(edge.heatW), up(edge.plateC)]
    drawing.mark(edge, () => {
      drawing.line(x, y, x, bottom, 'limit')
      drawing.path(`M${x - 5} ${y - 5}L${x + 5} ${y + 5}M${x - 5} ${y + 5}L${x + 5} ${y - 5}`, 'stop')
    })
    drawing.keep({ x: x - 6, y: y - 6, width: 12, height: 12 })
    drawing.keep({ x: x - 1, y, width: 2, height: bottom - y })
  }
  if (data.settled !== undefined) {
    const [x, y] = [across(data.settled.heatW), up(data.settled.plateC)]
    drawing.keep({ x: x - 6, y: y - 6, width: 12, height: 12 })
  }
  if (data.margin !== undefined && data.settled !== undefined) drawMargin(drawing, data, across, up, right)
  if (edge !== undefined) {
    const [x, y] = [across(edge.heatW), up(edge.plateC)]
    const spots: Spot[] = [bottom - 8, bottom - 26, bottom - 44, y + 24, y + 44].flatMap((base): Spot[] => [
      { x: x + 5, y: base },
      { x: x - 5, y: base, anchor: 'end' },
      { x: x + 5, y: y - 12, anchor: 'end' },
      { x: right, y: plot.y - 8, anchor: 'end' },
    ])
    drawing.label(edge.text, spots, { ...small, class: 'limit-text strong' })
  }
  const currents = isSmall ? [] : data.currents
  for (const current of currents) {
    const [x, y] = [across(current.heatW), up(current.plateC)]
    drawing.mark(current, () => drawing.circle(x, y, 2.5, 'hollow'))
    drawing.keep({ x: x - 3, y: y - 3, width: 6, height: 6 })
  }
  const writeCurrents = (): void => {
    for (const current of currents) {
      const [x, y] = [across(current.heatW), up(current.plateC)]
      drawing.label(
        current.text,
        [
          { x, y: y - 8, anchor: 'middle' },
          { x: x - 6, y: y - 8, anchor: 'end' },
          { x: x + 6, y: y + 16 },
          { x: x + 14, y: y + 22 },
        ],
        { ...small, class: 'main-text' },
      )
    }
  }
  if (data.settled !== undefined) {
    const { settled } = data
    const [x, y] = [across(settled.heatW), up(settled.plateC)]
    drawing.mark(settled, () => {
      drawing.circle(x, y, isSmall ? 3.5 : 5, 'point')
      drawing.rect({ x: x - 8, y: y - 8, width: 16, height: 16 }, 'hit')
    })
    const spots = around(x, y)
    const options = { ...(isSmall ? small : {}), class: 'strong' }
    // Where there is little room heat and temperature stand below each other.
    if (!drawing.label(settled.text, spots, options))
      drawing.label(settled.text.replace(', ', '\n'), spots, { ...small, class: 'strong' })
  }
  writeCurrents()
  drawing.label(data.carried.text, alongCurve(data.carried.points.filter(isInside), across, up, 'below'), {
    ...small,
    class: 'main-text',
  })
  for (const made of data.made.toReversed()) {
    drawing.label(made.text, alongCurve(made.points.filter(isInside), across, up, 'above'), {
      ...small,
      class: 'second-text',
    })
  }
  for (const write of inTheEnd) write()
  return drawing.finish(data.title, data.figures)
}

function alongLevel({ x, width }: Box, y: number): readonly Spot[] {
  return [-5, 14].flatMap((by): Spot[] => [
    { x: x + width - 5, y: y + by, anchor: 'end' },
    { x: x + 5, y: y + by },
    ...[0.5, 0.25, 0.75, 0.38, 0.62].map((part): Spot => ({ x: x + width * part, y: y + by, anchor: 'middle' })),
  ])
}

/** Places beside a curve, from its end backwards. */
function alongCurve(
  points: readonly CurvePlace[],
  across: (heatW: number) => number,
  up: (plateC: number) => number,
  side: 'above' | 'below',
): readonly Spot[] {
  const picks = [0.97, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1].flatMap(
    part => points[Math.floor(part * points.length)] ?? [],
  )
  return picks.flatMap(({ heatW, plateC }): Spot[] => {
    const [x, y] = [across(heatW), up(plateC)]
    const near: Spot[] =
      side === 'above'
        ? [
            { x: x + 8, y: y + 4 },
            { x: x - 8, y: y + 4, anchor: 'end' },
          ]
        : []
    return [
      ...near,
      { x, y: y + 18, anchor: 'middle' },
      { x, y: y - 10, anchor: 'middle' },
      { x: x - 8, y: y - 8, anchor: 'end' },
      { x: x + 8, y: y + 16 },
    ]
  })
}

/** Where a curve runs, in pieces so short that labels may stand in its corners. */
function alongBoxes(
  points: readonly CurvePlace[],
  across: (heatW: number) => number,
  up: (plateC: number) => number,
): readonly Box[] {
  return points.slice(1).flatMap((to, index) => {
    const from = points[index] ?? to
    const [x, y] = [across(from.heatW), up(from.plateC)]
    const [width, height] = [across(to.heatW) - x, up(to.plateC) - y]
    const count = Math.max(1, Math.ceil(Math.max(Math.abs(width), Math.abs(height)) / PIECE))
    return Array.from({ length: count }, (_, part): Box => {
      const [left, top] = [
        x + (width * (part + (width < 0 ? 1 : 0))) / count,
        y + (height * (part + (height < 0 ? 1 : 0))) / count,
      ]
      return { x: left - 1, y: top - 1, width: Math.abs(width) / count + 2, height: Math.abs(height) / count + 2 }
    })
  })
}

/** Places around a point, the nearest first. */
function around(x: number, y: number): readonly Spot[] {
  const rows = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9]
  return rows.flatMap(row =>
    (row === 0 ? [4] : [4 - 8 * row, 4 + 8 * row]).flatMap((by): Spot[] => {
      const aside = row < 2 ? 10 : 4
      const beside: Spot[] = [
        { x: x - aside, y: y + by, anchor: 'end' },
        { x: x + aside, y: y + by },
      ]
      return row < 2
        ? beside
        : [
            ...beside,
            { x, y: y + by, anchor: 'middle' },
            { x: x - 30, y: y + by, anchor: 'end' },
            { x: x + 30, y: y + by },
          ]
    }),
  )
}

/** The margin as a length from the settled heat on, with its figure. */
function drawMargin(
  drawing: Drawing,
  { margin, settled }: CoolingData,
  across: (heatW: number) => number,
  up: (plateC: number) => number,
  right: number,
): void {
  if (margin === undefined || settled === undefined) return
  const y = up(settled.plateC)
  const [from, to] = [across(margin.fromW), Math.min(right, across(margin.toW))]
  if (Math.abs(to - from) < 3) return
  drawing.mark(margin, () => {
    drawing.line(from, y, to, y, 'edge')
    drawing.path(`M${to} ${y - 5}L${to} ${y + 5}`, 'edge')
  })
  drawing.keep({ x: from, y: y - 1, width: to - from, height: 2 })
  drawing.keep({ x: to - 1, y: y - 5, width: 2, height: 10 })
  const middle = (from + to) / 2
  const spots = [-6, 14, -20, 28, -34, 42].flatMap((by): Spot[] => [
    { x: middle, y: y + by, anchor: 'middle' },
    { x: to + 5, y: y + 4 },
    { x: to, y: y + by, anchor: 'end' },
    { x: from + 8, y: y + by },
    { x: to + 5, y: y + by },
  ])
  // Where there is little room the figure by itself stands at its length.
  for (const text of [margin.text, margin.text.replace(/^margin /, '')])
    if (drawing.label(text, spots, { size: 'small', class: 'ink' })) return
}
