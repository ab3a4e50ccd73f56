import { expect, it } from 'vitest'
import { logBlocks } from '../../../server/bench/likelihood/blocks.ts'
import { logEvidence } from '../../../server/bench/likelihood/log.ts'
import { further } from '../../../server/bench/steady/further.ts'
import { drawsFrom } from '../../harness/drawn-benches.ts'
import { logBenchAt, logConstants, logPointOf, slowLoop, slowTruth, steppedLog } from '../../harness/drawn-logs.ts'

it('goes on at even power, however uneven the power of its last block was', () => {
  const draws = drawsFrom(1)
  const truth = slowTruth(draws, 720)
  const log = steppedLog(truth, { draws, seconds: 180, sensors: ['die', 'coolant'] })
  const plain = { ...logPointOf(log, draws), blocks: logBlocks(log.series, 'work') }
  const { from, to } = plain.blocks.blocks.findLast(({ isLoaded }) => isLoaded)!
  const size = to - from
  expect(size).toBeGreaterThan(1)
  expect(size).toBeLessThanOrEqual(32)
  // The first half of the block draws more than the second, by as much.
  const power = plain.blocks.series.figures.power!.map((value, at) => {
    if (at < from || at >= to || at - from === (size - 1) / 2) return value
    return value * (at - from < size / 2 ? 1.1 : 0.9)
  })
  const { series } = plain.blocks
  const uneven = { ...plain, blocks: { ...plain.blocks, series: { ...series, figures: { ...series.figures, power } } } }
  const bench = { cooler: slowLoop, benchAt: logBenchAt, unknowns: logConstants.map((_, index) => index) }
  const [even, other] = [plain, uneven].map(point => {
    const evidence = logEvidence(point, bench)
    const fit = { evidence, bench, unknowns: [], mode: Float64Array.from(truth), covariance: new Float64Array(0) }
    const found = further(fit, new Float64Array(evidence.errors.length), [300, 300, 300])!
    return found.dieC.subarray(found.logged)
  })
  // What the last block leaves behind is gone after five minutes, but for what the coolant keeps of it.
  for (const at of [1, 2]) expect(Math.abs(other![at]! - even![at]!)).toBeLessThan(0.02)
})
