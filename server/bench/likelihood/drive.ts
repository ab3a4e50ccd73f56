/**
 * What drives the course of a log, block by block: its power, the die that the power law is asked at, the ends of its stages.
 *
 * As it was measured, and as smooth as the noise of the sensors allows. A residual is of what was measured. But the way it
 * moves with a constant must not have that same noise in it: noise times noise does not average out, and would pull
 * resistances and heat capacities one way, the further the more is logged (an instrument in place of a regressor with errors:
 * W. A. Fuller, Measurement Error Models, 1987, ch. 1; cited from memory).
 *
 * Power and temperatures alone are smoothed: duty, drive current, voltage and clock stay as they were measured.
 */
import type { Block } from './blocks.ts'
import { type Level, type LogPoint, levels } from './log-point.ts'
import { firstNoise, meansCovariance, type Noise } from './noise.ts'

/** From one end upwards, and the levels that are read. */
export interface Simulation {
  /** Level of the end: that of a sensor, or the air. */
  readonly end: number
  readonly levels: readonly number[]
}

export interface Drive {
  readonly power: Float64Array
  /** By level: what was read; NaN where nothing was. */
  readonly means: readonly Float64Array[]
  /** By level that is an end: its temperature, and by how much it changes within each block, in K/s. */
  readonly ends: readonly Float64Array[]
  readonly rates: readonly Float64Array[]
}

export type DrivenBy = 'measured' | 'smooth'

/** A deviation from its neighbours counts as noise up to so many standard deviations. */
const NOISE_DEVIATIONS = 2.5
/** Neighbours on either side that a line is put through. */
const NEIGHBOURS = 3
/** A meter scatters no more than this; whatever is beyond it is the load. Engineering judgement. */
const METER_SHARE = 0.01

/** @param isFine each point is a block of its own: nothing is smoothed */
export function drivesOf(
  point: LogPoint,
  blocks: readonly Block[],
  simulations: readonly Simulation[],
  isFine: boolean,
): Readonly<Record<DrivenBy, Drive>> {
  const { series } = point.blocks
  const heldC = (end: number): number => (end === 1 ? point.instead.plate?.value : undefined) ?? Number.NaN
  const isEnd = levels.map((_, at) => simulations.some(({ end }) => end === at))
  const read = (kind: Level | 'power'): Float64Array =>
    Float64Array.from(blocks, ({ means }) => means[kind] ?? Number.NaN)
  const ends = levels.map((level, at) => Float64Array.from(blocks, block => block.ends[level] ?? heldC(at)))
  const rates = (of: readonly Float64Array[]): readonly Float64Array[] =>
    levels.map((level, at) => (isEnd[at] ? endRates(blocks, level, of[at] as Float64Array) : new Float64Array(0)))
  const measured: Drive = { power: read('power'), means: levels.map(read), ends, rates: rates(ends) }
  if (isFine) return { measured, smooth: measured }
  const smoothed = (kind: Level | 'power', values: Float64Array): Float64Array => {
    const { sd, kept } = firstNoise(series.figures[kind] ?? [], 0)
    const most = kind === 'power' ? METER_SHARE * Math.max(0, ...values.filter(one => !Number.isNaN(one))) : sd
    return withoutNoise(blocks, values, kind, { sd: Math.min(sd, most), kept })
  }
  const makeSmooth = (): Drive => {
    const smoothEnds = ends.map((values, at) => (isEnd[at] ? smoothed(levels[at] as Level, values) : values))
    return {
      power: smoothed('power', measured.power),
      means: measured.means.map((values, at) => smoothed(levels[at] as Level, values)),
      ends: smoothEnds,
      rates: rates(smoothEnds),
    }
  }
  // Made only when asked for: it takes the noise of the whole log, and not every look at a course needs it.
  let smooth: Drive | undefined
  return {
    measured,
    get smooth() {
      smooth ??= makeSmooth()
      return smooth
    },
  }
}

/** Whether nothing begins or ends between two blocks. */
const isOne = (block: Block, near: Block | undefined): near is Block =>
  near !== undefined && near.episode === block.episode && near.isLoaded === block.isLoaded && near.under === block.under

/**
 * Each block on the straight line through its neighbours under the same load, and further from it where that is more than
 * noise (the non-negative garrote: L. Breiman, Technometrics 37, 1995; cited from memory). Blocks grow where little happens,
 * so that a line over them bends little.
 */
function withoutNoise(
  blocks: readonly Block[],
  values: Float64Array,
  kind: Level | 'power',
  noise: Noise,
): Float64Array {
  return values.map((own, at) => {
    const block = blocks[at] as Block
    if (Number.isNaN(own)) return own
    let [count, sumX, sumY, sumXX, sumXY] = [0, 0, 0, 0, 0]
    for (const side of [-1, 1])
      for (let by = 1; by <= NEIGHBOURS; by++) {
        const value = values[at + side * by] as number
        if (!isOne(block, blocks[at + side * by]) || Number.isNaN(value)) break
        const x = side * by
        count++
        sumX += x
        sumY += value
        sumXX += x * x
        sumXY += x * value
      }
    if (count < NEIGHBOURS) return own
    const line = (sumXX * sumY - sumX * sumXY) / (count * sumXX - sumX * sumX)
    const stretch = { count: Math.max(1, block.counts[kind] ?? 1), before: 0 }
    const most = NOISE_DEVIATIONS ** 2 * meansCovariance(noise, stretch, stretch)
    const by = own - line
    return by * by > most ? line + by * (1 - most / (by * by)) : line
  })
}

/** Power that is within this share of its mean all through a block counts as even; engineering judgement. */
const EVEN_SHARE = 0.02
/** In a block of more readings than this, their order no longer matters; engineering judgement. */
const LONG = 32

/** Each reading's relative excess over the block's mean power; undefined where the power is even or the block too long to matter. */
export function unevenPower(
  { blocks: { series } }: LogPoint,
  { from, to, fromS, means }: Block,
): Float64Array | undefined {
  const values = series.figures.power
  const mean = means.power
  // A block that goes on behind its readings has none of its own.
  if (fromS >= (series.toS[to - 1] ?? fromS)) return undefined
  if (values === undefined || mean === undefined || !(mean > 0) || to - from < 2 || to - from > LONG) return undefined
  const shares = values.subarray(from, to).map(value => (Number.isNaN(value) ? 0 : value / mean - 1))
  return shares.some(share => Math.abs(share) > EVEN_SHARE) ? shares : undefined
}

/** K/s within each block: between the middles of its neighbours, or to the one neighbour where a load or an episode begins or ends. */
function endRates(blocks: readonly Block[], level: Level, values: Float64Array): Float64Array {
  const middle = ({ fromS, toS }: Block): number => (fromS + toS) / 2
  const hasEnd = (block: Block, near: Block | undefined): boolean =>
    isOne(block, near) && near.ends[level] !== undefined
  return Float64Array.from(blocks, (block, at) => {
    if (block.ends[level] === undefined) return 0
    const from = hasEnd(block, blocks[at - 1]) ? at - 1 : at
    const to = hasEnd(block, blocks[at + 1]) ? at + 1 : at
    if (from === to) return 0
    const [early, late] = [blocks[from] as Block, blocks[to] as Block]
    return ((values[to] as number) - (values[from] as number)) / (middle(late) - middle(early))
  })
}
