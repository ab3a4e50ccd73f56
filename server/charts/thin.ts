/** Fewer points of a long line, so that it looks the same: every extreme stays. */

export interface SeriesPoint {
  readonly at: number
  readonly value: number
}

/**
 * Of every stretch the first, the last, the lowest and the highest point, in their order.
 * @param stretches as many as the line has columns on the screen
 */
export function thinned(points: readonly SeriesPoint[], stretches: number): readonly SeriesPoint[] {
  if (points.length <= stretches * 4) return points
  const [from, to] = [points[0]?.at ?? 0, points.at(-1)?.at ?? 0]
  const kept: SeriesPoint[] = []
  let index = 0
  for (let stretch = 1; stretch <= stretches; stretch++) {
    const end = stretch === stretches ? Number.POSITIVE_INFINITY : from + ((to - from) * stretch) / stretches
    const start = index
    let [low, high] = [index, index]
    while (index < points.length && (points[index] as SeriesPoint).at <= end) {
      const { value } = points[index] as SeriesPoint
      if (value < (points[low] as SeriesPoint).value) low = index
      if (value > (points[high] as SeriesPoint).value) high = index
      index++
    }
    if (index === start) continue
    for (const pick of [...new Set([start, low, high, index - 1])].sort((a, b) => a - b))
      kept.push(points[pick] as SeriesPoint)
  }
  return kept
}

/** The stretches of a line in which it has values. */
export function unbroken(points: readonly SeriesPoint[]): readonly (readonly SeriesPoint[])[] {
  const found: SeriesPoint[][] = []
  let isOpen = false
  for (const point of points) {
    if (Number.isNaN(point.value)) isOpen = false
    else if (isOpen) found.at(-1)?.push(point)
    else {
      found.push([point])
      isOpen = true
    }
  }
  return found
}
