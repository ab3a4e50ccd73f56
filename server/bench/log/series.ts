/** A log as a series of bounded length. */

import type { ByFigure, Figure } from './figures.ts'

/**
 * A log as a series that never grows beyond a fixed number of points: each is the mean of as many rows as the log's
 * length asks for, one row a point in a short log. Means of blocks keep what a mean and its uncertainty rest on, so a
 * log of a day weighs no more than one of an hour.
 */
export interface LogSeries {
  /** Mean time of each point in s. */
  readonly timeS: Float64Array
  /** Times of its first and last row. */
  readonly fromS: Float64Array
  readonly toS: Float64Array
  /** By figure, in base units; NaN where no row of the point had a value. */
  readonly figures: Readonly<ByFigure<Float64Array>>
  /** How many rows a point stands for, but for the last one before a gap. */
  readonly rowsPerPoint: number
}

const SERIES_POINTS = 8192

export interface SeriesBuilder {
  /** Adds a row; its values in the order of the kinds, NaN where there is none. */
  add(timeS: number, values: ArrayLike<number>): void
  /** Ends the point that is being filled, so that none goes across a gap. */
  close(): void
  finish(): LogSeries
}

/** @param capacity an even number of points at most */
export function createSeries(kinds: readonly Figure[], capacity: number = SERIES_POINTS): SeriesBuilder {
  const width = kinds.length
  const [from, to, times] = [new Float64Array(capacity), new Float64Array(capacity), new Float64Array(capacity)]
  const rows = new Float64Array(capacity)
  const sums = new Float64Array(capacity * width)
  const counts = new Float64Array(capacity * width)
  let filled = 0
  let perPoint = 1
  let isOpen = false

  /** Brings neighbours together; points apart by a gap stay apart, unless gaps are all there is. */
  const halve = (across: 'gaps' | 'none'): void => {
    const before = filled
    let kept = 0
    for (let at = 0; at < filled; ) {
      const whole = (rows[at] as number) >= perPoint && (rows[at + 1] as number) >= perPoint
      const joins = at + 1 < filled && (whole || across === 'gaps')
      const take = joins ? 2 : 1
      const last = at + take - 1
      from[kept] = from[at] as number
      to[kept] = to[last] as number
      times[kept] = (times[at] as number) + (joins ? (times[last] as number) : 0)
      rows[kept] = (rows[at] as number) + (joins ? (rows[last] as number) : 0)
      for (let column = 0; column < width; column++) {
        const [a, b, into] = [at * width + column, last * width + column, kept * width + column]
        sums[into] = (sums[a] as number) + (joins ? (sums[b] as number) : 0)
        counts[into] = (counts[a] as number) + (joins ? (counts[b] as number) : 0)
      }
      kept++
      at += take
    }
    filled = kept
    if (filled > before * 0.75 && across === 'none') halve('gaps')
    else perPoint *= 2
  }

  return {
    add: (timeS, values) => {
      if (!isOpen) {
        if (filled >= capacity) halve('none')
        from[filled] = timeS
        times[filled] = rows[filled] = 0
        sums.fill(0, filled * width, (filled + 1) * width)
        counts.fill(0, filled * width, (filled + 1) * width)
        filled++
        isOpen = true
      }
      const at = filled - 1
      to[at] = timeS
      times[at] = (times[at] as number) + timeS
      rows[at] = (rows[at] as number) + 1
      for (let column = 0; column < width; column++) {
        const value = values[column] as number
        if (Number.isNaN(value)) continue
        const into = at * width + column
        sums[into] = (sums[into] as number) + value
        counts[into] = (counts[into] as number) + 1
      }
      if ((rows[at] as number) >= perPoint) isOpen = false
    },
    close: () => {
      isOpen = false
    },
    finish: () => {
      const mean = (total: Float64Array, count: Float64Array, stride: number, column: number): Float64Array =>
        Float64Array.from({ length: filled }, (_, at) => {
          const n = count[at * stride + column] as number
          return n === 0 ? Number.NaN : (total[at * stride + column] as number) / n
        })
      const figures: ByFigure<Float64Array> = {}
      kinds.forEach((kind, column) => {
        figures[kind] = mean(sums, counts, width, column)
      })
      return {
        timeS: mean(times, rows, 1, 0),
        fromS: from.slice(0, filled),
        toS: to.slice(0, filled),
        figures,
        rowsPerPoint: perPoint,
      }
    },
  }
}
