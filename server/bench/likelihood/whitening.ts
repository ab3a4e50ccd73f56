/** The errors that all readings of a log share once the constants are known, and the noise that is left then. */

import { factorCovariance, type Slices } from '../statistics/independent.ts'
import { type Block, pointBlocks } from './blocks.ts'
import { type LogEvidence, likeliestOf, logEvidence } from './log.ts'
import { leastNoise, type Noises } from './log-noise.ts'
import { levels, type Sensor, sensors } from './log-point.ts'
import { type Noise, noiseOf } from './noise.ts'

/** The likeliest shared errors in their standard deviations: −Bᵀ S⁻¹ r. Undefined where the model says nothing. */
export function likeliestErrors(evidence: LogEvidence, at: ArrayLike<number>): SharedErrors | undefined {
  const { size } = evidence
  const shared = evidence.errors.length
  const residuals = new Float64Array(size)
  const covariance = new Float64Array(size * size)
  if (!evidence.residualsWith(at, new Float64Array(shared), residuals)) return undefined
  evidence.covariance(at, covariance)
  if (!factorCovariance(covariance, size)) return undefined
  const by = evidence.sharedBy(at)
  const values = likeliestOf(by, residuals, covariance, shared)
  return { values, by, residuals, factor: covariance }
}

export interface SharedErrors {
  readonly values: Float64Array
  /** Derivatives of the residuals over the errors. */
  readonly by: Float64Array
  readonly residuals: Float64Array
  /** Lower factor of the residuals' covariance. */
  readonly factor: Float64Array
}

/**
 * The noise of each sensor, read off what a fit leaves over from reading to reading: with the constants where they are, and
 * the errors that all readings share taken off.
 */
export function* noiseAfter(evidence: LogEvidence, at: ArrayLike<number>): Slices<Noises | undefined> {
  const { point, rows } = evidence
  const shared = evidence.errors.length
  yield* evidence.prepare?.(at) ?? []
  const found = likeliestErrors(evidence, at)
  if (found === undefined) return undefined
  yield
  const fine = fineOf(evidence)
  yield
  const left = new Float64Array(fine.size)
  if (!fine.residuals(at, left)) return undefined
  yield
  const { blocks } = point.blocks
  const middle = (index: number): number => {
    const block = blocks[index]
    return block === undefined ? 0 : (block.fromS + block.toS) / 2
  }
  /** What is left over in each row once the shared errors are taken off. */
  const kept = found.residuals.map((residual, row) => {
    let sum = residual
    for (let k = 0; k < shared; k++) sum += (found.by[row * shared + k] as number) * (found.values[k] as number)
    return sum
  })
  const noise: Partial<Record<Sensor, Noise>> = {}
  for (const sensor of sensors) {
    const times: number[] = []
    const shifts: number[] = []
    rows.toReversed().forEach((row, back) => {
      const index = rows.length - 1 - back
      if (row.sensor !== sensor) return
      times.push((middle(row.first) + middle(row.last)) / 2)
      shifts.push((kept[index] as number) - (found.residuals[index] as number))
    })
    if (times.length === 0) continue
    const series: number[] = []
    fine.rows.toReversed().forEach((row, back) => {
      const index = fine.rows.length - 1 - back
      if (row.sensor !== sensor) return
      const { fromS, toS } = fine.blocks[row.first] as Block
      series.push((left[index] as number) + straight(times, shifts, (fromS + toS) / 2) + ofEnd(row, (fromS + toS) / 2))
    })
    noise[sensor] = noiseOf(series, leastNoise[sensor])
    yield
  }
  return noise

  /** The error of the reading at a stage's end, by which the stage is too short. */
  function ofEnd({ end }: LogEvidence['rows'][number], time: number): number {
    const sensor = levels[end]
    if (sensor === undefined) return 0
    const at = rows.findIndex(
      row =>
        row.sensor === sensor && (blocks[row.first] as Block).fromS <= time && time < (blocks[row.last] as Block).toS,
    )
    return at < 0 ? 0 : (kept[at] as number)
  }
}

/** Straight lines through points, flat outside. */
function straight(times: readonly number[], values: readonly number[], time: number): number {
  let at = 0
  while (at < times.length && (times[at] as number) < time) at++
  if (at === 0) return values[0] as number
  if (at === times.length) return values[at - 1] as number
  const [from, to] = [times[at - 1] as number, times[at] as number]
  const share = to > from ? (time - from) / (to - from) : 0
  return (values[at - 1] as number) + share * ((values[at] as number) - (values[at - 1] as number))
}

/** Evicted with the evidence. */
const known = new WeakMap<LogEvidence, LogEvidence>()

function fineOf(evidence: LogEvidence): LogEvidence {
  const before = known.get(evidence)
  if (before !== undefined) return before
  const { point, asked } = evidence
  const found = logEvidence(point, evidence, asked, { blocks: pointBlocks(point.blocks), isFine: true })
  known.set(evidence, found)
  return found
}
