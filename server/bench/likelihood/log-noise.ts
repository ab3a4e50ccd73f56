/** How the residuals of a log are correlated by the noise of the readings alone. */
import type { Block } from './blocks.ts'
import { type Level, type LogPoint, levels, type Sensor, sensors } from './log-point.ts'
import type { Row } from './log-rows.ts'
import { firstNoise, meansCovariance, type Noise, type Stretch } from './noise.ts'

export type Noises = Readonly<Partial<Record<Sensor, Noise>>>

/** No sensor is better than this: kelvins, and shares of a law. */
export const leastNoise: Readonly<Record<Sensor, number>> = {
  die: 0.02,
  plate: 0.02,
  coolant: 0.02,
  power: 2e-4,
  'drive-voltage': 2e-4,
}

const isLaw = (sensor: Sensor): boolean => sensor === 'power' || sensor === 'drive-voltage'

/** Before any fit. */
export function firstNoises({ blocks: { series } }: LogPoint): Noises {
  return Object.fromEntries(
    sensors.flatMap(sensor => {
      const values = series.figures[sensor]
      return values === undefined
        ? []
        : [[sensor, firstNoise(isLaw(sensor) ? values.map(Math.log) : values, leastNoise[sensor])]]
    }),
  )
}

/** Puts the covariance of the residuals into `out`, row by row. A stage whose end was read has the noise of both sensors. */
export function noiseCovariance(
  rows: readonly Row[],
  blocks: readonly Block[],
  noises: Noises,
  out: Float64Array,
): void {
  const size = rows.length
  out.fill(0)
  /** How many readings of a sensor come before each block. */
  const before = new Map<Sensor, Float64Array>()
  for (const sensor of sensors) {
    let sum = 0
    before.set(
      sensor,
      Float64Array.from(blocks, block => {
        const own = sum
        sum += block.counts[sensor] ?? 0
        return own
      }),
    )
  }
  const stretchOf = (sensor: Sensor, { first, last }: Row): Stretch => {
    let count = 0
    for (let index = first; index <= last; index++) count += blocks[index]?.counts[sensor] ?? 0
    return { count, before: before.get(sensor)?.[first] as number }
  }
  /** Looked up for each pair of rows. */
  const stretches = new Map(
    sensors.map(sensor => [sensor, noises[sensor] && new Map(rows.map(row => [row, stretchOf(sensor, row)]))]),
  )
  const between = (sensor: Sensor, a: Row, b: Row): number => {
    const own = noises[sensor]
    const all = stretches.get(sensor)
    if (own === undefined || all === undefined) return 0
    const [early, late] = a.first <= b.first ? [a, b] : [b, a]
    return meansCovariance(own, all.get(early) as Stretch, all.get(late) as Stretch)
  }
  for (let i = 0; i < size; i++) {
    const a = rows[i] as Row
    for (let j = 0; j <= i; j++) {
      const b = rows[j] as Row
      let sum = a.sensor === b.sensor ? between(a.sensor, a, b) : 0
      if (!isLaw(a.sensor) && !isLaw(b.sensor)) {
        const end = levels[a.end] as Level | undefined
        if (end !== undefined && a.end === b.end) sum += between(end, a, b)
        // What a sensor reads too high is missing in the stage above it.
        if (a.end === b.level) sum -= between(b.sensor, a, b)
        if (b.end === a.level) sum -= between(a.sensor, a, b)
      }
      out[i * size + j] = out[j * size + i] = sum
    }
  }
}
