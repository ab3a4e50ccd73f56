/** The operating map: active cores across, die temperature up, the clock in each cell. */
import { scaleBand, scaleLinear } from 'd3-scale'
import { Drawing, type Spot, sizes } from './drawing.ts'
import { heading, isSmallPicture, keepScales, plotBox, upAxis } from './frame.ts'
import { drawPoints, type MapPoint, namePoints } from './map-points.ts'
import { cutTo, textWidth } from './measure.ts'
import type { Figures, MarkPlace, Picture, PictureOptions } from './picture.ts'

/** A stretch of temperatures at which a block of core counts has one clock. */
interface MapCell {
  /** −Infinity for the first. */
  readonly fromC: number
  readonly toC: number
  readonly ratio: number
  /** In the words of a figure: `5.70 GHz`. */
  readonly clock: string
  readonly sentence: string
  readonly place?: MarkPlace | undefined
}

/** Core counts that are served alike. */
export interface MapBlock {
  readonly fromCores: number
  readonly toCores: number
  /** Coldest first; the last one ends at the ceiling. */
  readonly cells: readonly MapCell[]
  /** Where a band that was entered is left again, by the cell that it leads to. */
  readonly returns: readonly { readonly fromC: number; readonly toC: number; readonly sentence: string }[]
}

/** A horizontal line that belongs to some core counts. */
export interface MapEdge {
  readonly fromCores: number
  readonly toCores: number
  readonly atC: number
}

interface MapGroup {
  readonly name: string
  readonly columns: readonly { readonly at: number; readonly cores: number }[]
}

export interface MapData {
  readonly title: string
  /** What the cells are true for. */
  readonly note: string
  /** The core counts that are drawn. */
  readonly fromCores: number
  readonly toCores: number
  /** Groups of cores one after the other: then every count of cores is a place on the axis, and this says which. */
  readonly groups?: readonly MapGroup[] | undefined
  readonly blocks: readonly MapBlock[]
  readonly points: readonly MapPoint[]
  readonly ceiling: {
    readonly atC: number
    readonly text: string
    readonly sentence: string
    readonly place?: MarkPlace | undefined
  }
  /** Blocks that a cap of power or current holds below their step. */
  readonly caps: readonly {
    readonly fromCores: number
    readonly toCores: number
    readonly text: string
    readonly sentence: string
    readonly place?: MarkPlace | undefined
  }[]
  /** No load comes below the first or above the second. */
  readonly reachedC: readonly [low: number, high: number] | undefined
  readonly against?: { readonly label: string; readonly edges: readonly MapEdge[] } | undefined
  /** Both ends of the temperatures, where several maps share one scale. */
  readonly rangeC?: readonly [low: number, high: number] | undefined
  readonly figures: Figures
}

/** The temperatures that a map needs. */
export function mapRangeC({ points, ceiling, reachedC }: MapData): readonly [low: number, high: number] {
  const all = [...points.flatMap(({ coolC, warmC }) => [coolC, warmC]), ...(reachedC ?? []), ceiling.atC]
  const [low, high] = [Math.min(...all), Math.max(...all)]
  return [low - Math.max(4, (high - low) * 0.06), high + Math.max(5, (high - low) * 0.09)]
}

const shades = 4

export function drawMap(data: MapData, options: PictureOptions): Picture {
  const drawing = new Drawing(options)
  const isSmall = isSmallPicture(options)
  const top = isSmall ? 0 : heading(drawing, data.title, data.note)
  const plot = plotBox(options, 16, top)
  const across = scaleBand<number>()
    .domain(Array.from({ length: data.toCores - data.fromCores + 1 }, (_, index) => data.fromCores + index))
    .range([plot.x, plot.x + plot.width])
  const up = scaleLinear(data.rangeC ?? mapRangeC(data), [plot.y + plot.height, plot.y])
  const [lowC = 0, highC = 0] = up.domain()
  const left = (cores: number): number => across(cores) ?? plot.x
  const right = (cores: number): number => left(cores) + across.bandwidth()
  const centre = (cores: number): number => left(cores) + across.bandwidth() / 2
  const clampC = (celsius: number): number => Math.min(highC, Math.max(lowC, celsius))

  const ratios = [...new Set(data.blocks.flatMap(({ cells }) => cells.map(({ ratio }) => ratio)))].sort((a, b) => b - a)
  const shadeOf = (ratio: number): number =>
    ratios.length < 2 ? 0 : Math.round((ratios.indexOf(ratio) / (ratios.length - 1)) * shades)
  const cellLabels: (() => void)[] = []
  for (const { fromCores, toCores, cells, returns } of data.blocks) {
    const [x, width] = [left(fromCores), right(toCores) - left(fromCores)]
    for (const cell of cells) {
      const [top, bottom] = [up(clampC(cell.toC)), up(clampC(cell.fromC))]
      const box = { x, y: top, width, height: bottom - top }
      drawing.mark(cell, () => drawing.rect(box, `cell cell-${shadeOf(cell.ratio)}`))
      cellLabels.push(() => {
        const texts = [`${cell.clock} · ${plainRatio(cell.ratio)}`, cell.clock, cell.clock.replace(/ GHz$/, '')]
        for (const text of texts) {
          if (textWidth(text, sizes.label) > width - 6 || bottom - top < 15) continue
          // Points stand at the centre of their cores: a label looks for room beside them.
          const spots = [0.5, 0.25, 0.75, 0.37, 0.63, 0.12, 0.88].flatMap((part): Spot[] => {
            const y = top + (bottom - top) * part + 4
            if (y - 10 < top || y + 3 > bottom) return []
            const half = textWidth(text, sizes.label) / 2
            return [0.5, 0.3, 0.7, 0.15, 0.85].flatMap(at => {
              const centred = x + width * at
              return centred - half >= x + 2 && centred + half <= x + width - 2
                ? [{ x: centred, y, anchor: 'middle' as const }]
                : []
            })
          })
          if (drawing.label(text, spots, { class: 'ink' })) return
        }
      })
    }
    for (const { fromC, toC, sentence } of returns) {
      const [top, bottom] = [up(clampC(toC)), up(clampC(fromC))]
      drawing.mark({ sentence }, () => drawing.hatched({ x, y: top, width, height: bottom - top }))
    }
  }
  upAxis(drawing, up, plot, isSmall ? '' : 'die temperature, °C', isSmall ? 3 : 7)
  if (data.reachedC !== undefined) {
    const [low, high] = data.reachedC.map(clampC) as [number, number]
    const box = { x: plot.x, width: plot.width }
    drawing.mark({ sentence: `No load of this profile settles below ${low.toFixed(1)} °C.` }, () =>
      drawing.hatched({ ...box, y: up(low), height: plot.y + plot.height - up(low) }),
    )
    drawing.mark({ sentence: `No load of this profile settles above ${high.toFixed(1)} °C.` }, () =>
      drawing.hatched({ ...box, y: plot.y, height: up(high) - plot.y }),
    )
  }
  for (const { fromCores, toCores, cells } of data.blocks) {
    if (fromCores > data.fromCores) {
      drawing.line(left(fromCores), plot.y, left(fromCores), plot.y + plot.height, 'axis')
      drawing.avoid({ x: left(fromCores) - 1, y: plot.y, width: 2, height: plot.height })
    }
    for (const cell of cells) {
      if (cell.fromC <= lowC) continue
      const y = up(cell.fromC)
      drawing.mark({ sentence: cell.sentence, place: cell.place }, () =>
        drawing.line(left(fromCores), y, right(toCores), y, 'edge'),
      )
      drawing.keep({ x: left(fromCores), y: y - 1, width: right(toCores) - left(fromCores), height: 2 })
    }
  }
  for (const { fromCores, toCores, atC } of data.against?.edges ?? []) {
    if (atC <= lowC || atC >= highC) continue
    const [x, y] = [left(fromCores), up(atC)]
    drawing.line(x, y, right(toCores), y, 'thin')
    drawing.avoid({ x, y: y - 1, width: right(toCores) - x, height: 2 })
  }
  drawCores(drawing, data, centre, plot, isSmall)
  keepScales(drawing, plot)
  const { ceiling } = data
  drawing.keep({ x: plot.x, y: up(ceiling.atC) - 1.5, width: plot.width, height: 3 })
  drawing.mark(ceiling, () => drawing.line(plot.x, up(ceiling.atC), plot.x + plot.width, up(ceiling.atC), 'limit'))
  const placed = drawPoints(drawing, data.points, centre, up, across.bandwidth(), isSmall)
  const ends = [plot.x + 5, plot.x + plot.width - 5, plot.x + plot.width / 2]
  const besideCeiling = [-5, 14].flatMap((by): Spot[] =>
    (['start', 'end', 'middle'] as const).map((anchor, index) => ({
      x: ends[index] ?? 0,
      y: up(ceiling.atC) + by,
      anchor,
    })),
  )
  drawing.label(ceiling.text, besideCeiling, { size: 'small', class: 'limit-text' })
  for (const cap of data.caps) {
    const y = plot.y + 2
    drawing.mark(cap, () => drawing.line(left(cap.fromCores), y, right(cap.toCores), y, 'cap'))
    drawing.keep({ x: left(cap.fromCores), y: y - 1, width: right(cap.toCores) - left(cap.fromCores), height: 2 })
    const middle = (left(cap.fromCores) + right(cap.toCores)) / 2
    drawing.label(
      cap.text,
      [
        { x: middle, y: y + 12, anchor: 'middle' },
        { x: right(cap.toCores) - 2, y: y + 12, anchor: 'end' },
        { x: middle, y: y - 6, anchor: 'middle' },
        { x: right(cap.toCores), y: y - 6, anchor: 'end' },
      ],
      { size: 'small', class: 'second-text' },
    )
  }
  if (!isSmall) namePoints(drawing, placed)
  for (const write of cellLabels) write()
  if (!isSmall && data.against !== undefined) {
    const y = plot.y - 10
    drawing.label(`dashed: ${data.against.label}`, [{ x: options.width - 8, y, anchor: 'end' }], {
      size: 'small',
      class: 'second-text',
    })
  }
  return drawing.finish(data.title, data.figures)
}

function plainRatio(ratio: number): string {
  return `${Number(ratio.toPrecision(6))}x`
}

function drawCores(
  drawing: Drawing,
  { fromCores, toCores, groups }: Pick<MapData, 'fromCores' | 'toCores' | 'groups'>,
  centre: (cores: number) => number,
  plot: { readonly x: number; readonly y: number; readonly width: number; readonly height: number },
  isSmall: boolean,
): void {
  const bottom = plot.y + plot.height
  drawing.line(plot.x, bottom, plot.x + plot.width, bottom, 'axis')
  let free = Number.NEGATIVE_INFINITY
  const counts = new Map(groups?.flatMap(({ columns }) => columns.map(({ at, cores }) => [at, cores])))
  for (let count = fromCores; count <= toCores; count++) {
    const text = String(counts.get(count) ?? count)
    const half = textWidth(text, sizes.small) / 2
    if (centre(count) - half < free) continue
    free = centre(count) + half + 5
    drawing.text(text, { x: centre(count), y: bottom + 14, anchor: 'middle' }, { size: 'small', class: 'soft' })
  }
  if (isSmall) {
    drawing.text('die °C by active cores', { x: plot.x, y: 13 }, { size: 'small', class: 'soft' })
  } else if (groups !== undefined) {
    for (const { name, columns } of groups) {
      const [first, last] = [columns[0], columns.at(-1)]
      if (first === undefined || last === undefined) continue
      const x = (centre(first.at) + centre(last.at)) / 2
      const width = (centre(last.at) - centre(first.at)) * (columns.length / Math.max(1, columns.length - 1))
      const whole = `active cores of ${name}`
      const text = textWidth(whole, sizes.small) < width - 6 ? whole : cutTo(name, sizes.small, Math.max(20, width - 6))
      drawing.text(text, { x, y: bottom + 32, anchor: 'middle' }, { size: 'small', class: 'soft' })
    }
  } else {
    drawing.text(
      'active cores',
      { x: plot.x + plot.width, y: bottom + 32, anchor: 'end' },
      { size: 'small', class: 'soft' },
    )
  }
}
