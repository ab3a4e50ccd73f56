import { expect, it } from 'vitest'
import { logBlocks } from '../../../server/bench/likelihood/blocks.ts'
import { logEvidence } from '../../../server/bench/likelihood/log.ts'
import { drawsFrom } from '../../harness/drawn-benches.ts'
import { logBenchAt, logConstants, logPointOf, slowLoop, slowTruth, steppedLog } from '../../harness/drawn-logs.ts'

it('stays where it was where the smooth course cannot be followed', () => {
  const draws = drawsFrom(1)
  const truth = slowTruth(draws, 720)
  const log = steppedLog(truth, { draws, seconds: 300, sensors: ['die', 'coolant'] })
  const point = { ...logPointOf(log, draws), blocks: logBlocks(log.series, 'work') }
  let asked = 0
  let sound = Number.POSITIVE_INFINITY
  const benchAt: typeof logBenchAt = at => {
    const bench = logBenchAt(at)
    return ++asked > sound ? { ...bench, part: { ...bench.part, packageResistanceKPerW: Number.NaN } } : bench
  }
  const made = () => logEvidence(point, { cooler: slowLoop, benchAt, unknowns: logConstants.map((_, index) => index) })
  const { size } = made()
  const factor = new Float64Array(size * size)
  for (let row = 0; row < size; row++) factor[row * size + row] = 1
  const residualsOf = (evidence: ReturnType<typeof made>): Float64Array => {
    const out = new Float64Array(size)
    expect(evidence.residuals(truth, out)).toBe(true)
    return out
  }
  asked = 0
  const moved = made()
  const before = residualsOf(moved)
  asked = 0
  moved.centreAt!(truth, factor)
  const calls = asked
  expect(residualsOf(moved)).not.toEqual(before)
  // The last course that a centre takes is the smooth one.
  const left = made()
  asked = 0
  sound = calls - 1
  left.centreAt!(truth, factor)
  expect(asked).toBe(calls)
  sound = Number.POSITIVE_INFINITY
  expect(residualsOf(left)).toEqual(before)
})
