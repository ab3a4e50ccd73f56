/** The loads of an operating map: points over core counts and die temperatures, and their names. */
import type { Drawing, Spot } from './drawing.ts'
import type { MarkPlace } from './picture.ts'

/** A load at one core count in the coolest and the warmest corner. */
export interface MapPoint {
  readonly cores: number
  /** Where cores are of several kinds, the one that is counted. */
  readonly group?: string | undefined
  /** Undefined where no load declares it and it is only passed through. */
  readonly load: string | undefined
  readonly coolC: number
  readonly warmC: number
  /** The least margin of all: it has a ring. */
  readonly worst?: string | undefined
  readonly sentence: string
  readonly place?: MarkPlace | undefined
}

/** A point in the picture: where it stands, and how high in the coolest and the warmest corner. */
interface PlacedPoint {
  readonly point: MapPoint
  readonly x: number
  readonly cool: number
  readonly warm: number
}

/** Draws loads as points, joined from the coolest corner to the warmest. @returns where they stand */
export function drawPoints(
  drawing: Drawing,
  points: readonly MapPoint[],
  centre: (cores: number) => number,
  up: (celsius: number) => number,
  bandwidth: number,
  isSmall: boolean,
): readonly PlacedPoint[] {
  const declared = points.filter(({ load }) => load !== undefined)
  const placed = points.map(point => {
    const beside = declared.filter(({ cores }) => cores === point.cores)
    const index = beside.indexOf(point)
    // Loads at one core count stand side by side, what is only passed through between them.
    const shift =
      point.load === undefined || beside.length < 2 ? 0 : ((index + 0.5) / beside.length - 0.5) * bandwidth * 0.7
    return { point, x: centre(point.cores) + shift, cool: up(point.coolC), warm: up(point.warmC) }
  })
  for (const { point, x, cool, warm } of placed) {
    const isPassed = point.load === undefined
    const r = isPassed ? 2.5 : isSmall ? 3 : 4.5
    drawing.mark(point, () => {
      drawing.line(x, cool, x, warm, isPassed ? 'passed' : 'joined')
      drawing.circle(x, cool, r, isPassed ? 'hollow' : 'point')
      drawing.circle(x, warm, r, isPassed ? 'hollow' : 'point')
      if (point.worst !== undefined) drawing.circle(x, warm, isSmall ? 5.5 : 8.5, 'ring')
      drawing.rect({ x: x - 6, y: warm - 6, width: 12, height: cool - warm + 12 }, 'hit')
    })
    drawing.keep({ x: x - r - 1, y: warm - r - 1, width: 2 * r + 2, height: cool - warm + 2 * r + 2 })
    if (point.worst !== undefined) drawing.keep({ x: x - 9.5, y: warm - 9.5, width: 19, height: 19 })
  }
  return placed
}

/** Writes what the loads are called, beside their points. */
export function namePoints(drawing: Drawing, placed: readonly PlacedPoint[]): void {
  const named = new Set<string>()
  let isWorstSaid = false
  // The worst point of a load carries its name, else its last core count, in each group of cores.
  const order = placed
    .toReversed()
    .sort((a, b) => Number(b.point.worst !== undefined) - Number(a.point.worst !== undefined))
  for (const { point, x, cool, warm } of order) {
    const key = `${point.load} ${point.group ?? ''}`
    if (point.load === undefined || named.has(key)) continue
    named.add(key)
    // A load on several groups has one margin: it is said once.
    const text = point.worst === undefined || isWorstSaid ? point.load : `${point.load}: ${point.worst}`
    const middle = (cool + warm) / 2 + 4
    const spots: Spot[] = [12, 16, 24, 34].flatMap((by): Spot[] => [
      { x: x - by, y: warm + 4, anchor: 'end' },
      { x: x + by, y: warm + 4 },
      { x: x - by, y: middle, anchor: 'end' },
      { x: x + by, y: middle },
      { x: x + 8, y: warm - by, anchor: 'end' },
      { x: x - 8, y: warm - by },
      { x, y: warm - by, anchor: 'middle' },
      { x, y: cool + by + 6, anchor: 'middle' },
      { x: x - by, y: cool + by, anchor: 'end' },
      { x: x + by, y: cool + by },
    ])
    const options = { class: 'main-text strong' }
    if (!drawing.label(text, spots, options)) drawing.label(point.load, spots, options)
    else if (point.worst !== undefined) isWorstSaid = true
  }
}
